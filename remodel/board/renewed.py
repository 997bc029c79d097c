"""Plans that take the place of plans that fell, and the marks of plans that stand."""

from __future__ import annotations

from collections.abc import Mapping

from remodel.board import hooks
from remodel.board.marks import drop_offers, note_marks, retire_marks
from remodel.board.models import Plan
from remodel.board.rounds import Outcome
from remodel.bridge import codec
from remodel.bridge.piles import GivenPlan
from remodel.bridge.placed import marks_in, pieces_in
from remodel.bridge.plans import PLAN_SCHEMA, BoardPlan, PoolKey
from remodel.bridge.sheet_lists import offcut_words
from remodel.bridge.views import PoolState
from remodel.house.models import Room

__all__ = ["keep_shapes", "plans_follow"]


def keep_shapes(outcome: Outcome) -> None:
    """Note what surfaces a plan was made for, where an older version did not."""
    assert outcome.worked is not None
    for key, plan in outcome.given.plans.items():
        if plan.accepted and not plan.shapes:
            shapes = outcome.worked.shapes.get(key, {})
            Plan.objects.filter(pk=plan.name).update(shapes=shapes)
            note_marks(Plan.objects.get(pk=plan.name), plan.plan)


def plans_follow(
    head: Room,
    outcome: Outcome,
    made: Mapping[PoolKey, GivenPlan],
) -> None:
    """Let the plans of a pile be those that were made in the place of fallen ones, or the fallen
    ones that stand again."""
    pools = {(pool.board, pool.thickness): pool for pool in outcome.result.pools}
    for key, before in outcome.given.plans.items():
        if not before.accepted:
            continue
        if key in made and made[key].name == before.name:
            if before.anew:
                Plan.objects.filter(pk=before.name).update(anew=list(made[key].anew))
            continue
        old = Plan.objects.get(pk=before.name)
        if outcome.back:
            # The plan that took over was never used; the one before goes on as it was.
            stands = Plan.objects.get(pk=made[key].name)
            retire_marks(old, [])
            old.delete()
            stands.state, stands.fallen_from = stands.fallen_from or Plan.State.ACCEPTED, ""
            stands.save(update_fields=["state", "fallen_from"])
            note_marks(stands, made[key].plan)
            # What is begun is cut further as this one says.
            hooks.tell_renewed(head, (), made[key].plan.sheets, returned=outcome.returned)
            continue
        state = old.state
        Plan.objects.filter(pk=old.pk).update(state=Plan.State.FALLEN, fallen_from=state)
        if key not in made:
            retire_marks(old, [])
            continue
        _make_plan(head, pools[key], made[key], old=old, note=_what_changed(outcome, key))
    for key, plan in made.items():
        if plan.accepted and key not in outcome.given.plans:
            _make_plan(head, pools[key], plan, old=None, note="")
    renewed = outcome.worked.renewed if outcome.worked is not None else None
    if renewed is not None:
        hooks.tell_renewed(
            head,
            renewed.spare,
            tuple(sheet for plan in renewed.plans.values() for sheet in plan.sheets),
            renewed.waste,
        )


def _make_plan(
    head: Room, pool: PoolState, made: GivenPlan, *, old: Plan | None, note: str
) -> None:
    """Store a plan that was made in the place of a fallen one, in the state of that one."""
    state = (old.fallen_from or old.state) if old is not None else Plan.State.ACCEPTED
    if old is not None and old.state in (Plan.State.CUT, Plan.State.HUNG):
        state = Plan.State.ORDERED  # pieces of it are open again
    drop_offers(
        Plan.objects.filter(
            room=head, board=pool.board, thickness=pool.thickness, state=Plan.State.PROPOSED
        )
    )
    row = Plan.objects.create(
        pk=made.name,
        house_id=head.house_id,
        room=head,
        board=pool.board,
        thickness=pool.thickness,
        pool=pool.digest,
        state=state,
        schema=PLAN_SCHEMA,
        data=codec.write(made.plan),
        shapes=made.shapes,
        instead_of=old,
        note=note,
        why=old.why if old is not None else "",
        total=str(made.plan.total),
        work=made.plan.work_cost,
        bound=str(made.plan.bound.value),
        basis=made.plan.bound.basis.value,
        person=old.person if old is not None else None,
    )
    if old is not None:
        retire_marks(old, marks_in(made.plan))
    note_marks(row, made.plan)


def _what_changed(outcome: Outcome, key: PoolKey) -> str:
    """What a plan made in the place of a fallen one changes, in a line."""
    assert outcome.worked is not None
    assert outcome.worked.renewed is not None
    renewed, before = outcome.worked.renewed, outcome.given.plans[key].plan
    mine = {piece.code for surface in before.surfaces for piece in surface.pieces}
    struck = [mark for mark in renewed.struck if mark in mine]
    parts = []
    if struck:
        some = ", ".join(struck[:4]) + (" and others" if len(struck) > 4 else "")
        count = (
            "1 board no longer fits" if len(struck) == 1 else f"{len(struck)} boards no longer fit"
        )
        parts.append(f"{count} ({some}, not cut)")
    parts += _other_sheets(before, renewed.plans.get(key))
    more = _bought(renewed.plans[key]) - _bought(before) if key in renewed.plans else 0
    if more:
        parts.append(
            f"{abs(more)} sheet{'' if abs(more) == 1 else 's'} {'more' if more > 0 else 'fewer'}"
        )
    return ". ".join(parts) + "." if parts else "Planned anew around what hangs."


def _other_sheets(before: BoardPlan, after: BoardPlan | None) -> list[str]:
    """Which pieces are cut from another sheet now, because the offcut meant for them is gone."""
    if after is None:
        return []
    then, now = _offcut_of(before), _offcut_of(after)
    still = pieces_in(after)
    lost: dict[str, list[str]] = {}
    for code, source in then.items():
        if code in still and now.get(code) != source:
            lost.setdefault(source, []).append(code)
    return [
        f"{' and '.join(codes)} {'is' if len(codes) == 1 else 'are'} cut from another sheet: "
        f"{offcut_words(source)} is not there any more"
        for source, codes in lost.items()
        if all(sheet.source != source for sheet in after.sheets)
    ]


def _offcut_of(plan: BoardPlan) -> dict[str, str]:
    """The offcut that each piece is cut from, where that is none of the plan's own."""
    own = {offcut.id for sheet in plan.sheets for offcut in sheet.offcuts}
    offcuts = {
        sheet.code: sheet.source
        for sheet in plan.sheets
        if sheet.source is not None and not sheet.is_whole and sheet.source not in own
    }
    return {
        code: offcuts[sheet] for code, (_, _, sheet) in pieces_in(plan).items() if sheet in offcuts
    }


def _bought(plan: BoardPlan) -> int:
    return sum(sheet.is_whole for sheet in plan.sheets)
