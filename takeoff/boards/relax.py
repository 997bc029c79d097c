"""Why a surface cannot be boarded, and which rule to relax: found by relaxing them one at a
time."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace
from itertools import chain

from takeoff.boards.allowed import floating_forbidden
from takeoff.boards.layouts import Layout, NoLayout, lay_out
from takeoff.boards.plan import PlacedBoard
from takeoff.boards.words import shown
from takeoff.catalogue import BoardKind, SheetOnSale
from takeoff.choices import CeilingRows, JointMode, Orientation, SurfaceKind
from takeoff.errors import CannotBoard
from takeoff.framing.members import FramedSurface
from takeoff.reference import figures
from takeoff.rules import Rules
from takeoff.units import INCH, Nm

__all__ = ["explain"]


def explain(
    framed: FramedSurface,
    kind: BoardKind,
    rules: Rules,
    sheets: Sequence[SheetOnSale],
    attempts: Sequence[tuple[Layout, NoLayout | None]],
    boards: Sequence[PlacedBoard] = (),
) -> CannotBoard:
    """What to tell the person when every layout is stuck: the course, the first rule that would
    free it, what to enter.

    Joint mode is tried first, since it costs only backers; then the clearance of openings, the
    stagger and the shortest piece, each no further down than it must.
    """
    surface = framed.surface
    # The message names the first layout that fails.
    layout, blocked = next((layout, blocked) for layout, blocked in attempts if blocked is not None)
    longest = layout.courses[blocked.row].longest
    where = (
        f"{surface.name}, row {blocked.row + 1}, from {shown(blocked.start, surface)} to "
        f"{shown(blocked.end, surface)}"
    )
    core = shown(figures.length("HL-core"), surface)
    if blocked.coreless:
        what = (
            f"whatever the joints, a piece there has no place {core} by {core} without an opening"
        )
    elif blocked.apart:
        what = f"no joints keep {shown(rules.stagger, surface)} from those of the row before it"
    else:
        what = f"no allowed joints make pieces of at most {shown(longest, surface)}"
    relaxed = _relaxed(framed, kind, rules)
    if blocked.coreless:
        relaxed = chain(_counted_otherwise(framed, rules), relaxed)
    for rule, advice, looser_framed, looser in relaxed:
        # A rule is named only after all layouts were tried with it looser: advice that would not
        # help is worse than none.
        if any(
            free is None for _, free in lay_out(looser_framed, kind, looser, sheets, boards=boards)
        ):
            return CannotBoard(
                surface=surface.id,
                row=blocked.row,
                rule=rule,
                message=f"{where}: {what}. To go on, {advice}",
            )
    if blocked.coreless:
        return CannotBoard(
            surface=surface.id,
            row=blocked.row,
            rule="core",
            message=f"{where}: {what}, and no rule relaxed by itself helps. Draw the surface or "
            "its openings without what is that narrow, and fill that with setting compound",
        )
    return CannotBoard(
        surface=surface.id,
        row=blocked.row,
        rule="framing",
        message=f"{where}: {what}, and no rule relaxed by itself helps. Add a stud or joist "
        "there, or "
        "longer sheets",
    )


def _counted_otherwise(
    framed: FramedSurface, rules: Rules
) -> Iterator[tuple[str, str, FramedSurface, Rules]]:
    """Rows elsewhere: they are what leaves a piece without a core."""
    surface = framed.surface
    if surface.kind is SurfaceKind.CEILING and rules.ceiling_rows is not CeilingRows.EITHER:
        either = replace(rules, ceiling_rows=CeilingRows.EITHER)
        yield "ceiling_rows", "let its rows be counted from either side", framed, either
    if surface.orientation is not Orientation.BEST:
        best = replace(framed, surface=replace(surface, orientation=Orientation.BEST))
        yield "orientation", "let its boards lie across the framing or along it", best, rules


def _relaxed(
    framed: FramedSurface, kind: BoardKind, rules: Rules
) -> Iterator[tuple[str, str, FramedSurface, Rules]]:
    surface = framed.surface
    if surface.joint_mode is not JointMode.EITHER and not floating_forbidden(surface, kind):
        either = replace(framed, surface=replace(surface, joint_mode=JointMode.EITHER))
        yield "joint_mode", "let its butt seams float where that is better", either, rules
    for name, words in (
        ("opening_clearance", "let joints come closer to openings"),
        ("stagger", "let joints of touching rows come closer"),
        ("shortest_piece", "allow shorter pieces"),
    ):
        now: Nm = getattr(rules, name)
        # In quarters, to a whole inch: a person should give up no more of a rule than it takes.
        for part in (3, 2, 1, 0):
            less = Nm(now * part // 4 // INCH * INCH)
            if less < now:
                yield (
                    name,
                    f"{words}, for example {shown(less, surface)}",
                    framed,
                    _with(rules, name, less),
                )


def _with(rules: Rules, name: str, value: Nm) -> Rules:
    if name == "opening_clearance":
        return replace(rules, opening_clearance=value)
    if name == "stagger":
        return replace(rules, stagger=value)
    return replace(rules, shortest_piece=value)
