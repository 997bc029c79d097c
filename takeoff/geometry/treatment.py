"""What is decided for each surface: the choice of the person for it, else that of its room, else
the rules of the house."""

from __future__ import annotations

from dataclasses import dataclass, replace
from decimal import Decimal

from takeoff.choices import (
    Above,
    Action,
    JointMode,
    MeasuredTo,
    OldLining,
    Orientation,
    Runs,
    SurfaceKind,
)
from takeoff.house import Framing, Insulation, Paint, Patch, Room, SurfaceChoice
from takeoff.reference import figures
from takeoff.rules import BoardChoice, Rules
from takeoff.units import Nm

__all__ = ["Treatment", "decide", "moved_framing"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Treatment:
    """Every choice for one surface. `lining_assumed` says that nobody gave the thickness of the old
    lining, though it matters.

    `framing_inherited` says that the members are those of the parent room, in its coordinates.
    Insulation and patches are those said of this very surface: a parent's are its own.
    """

    action: Action
    lining: Nm
    lining_assumed: bool
    board: BoardChoice
    orientation: Orientation
    joint_mode: JointMode
    framing: Framing
    framing_inherited: bool
    rated: str | None
    wet: bool
    braces: bool
    insulated: bool
    maybe_insulated: bool
    under_living: bool
    layers: int
    insulation: Insulation | None
    old_lining: OldLining | None
    patches: tuple[Patch, ...]
    tiled: bool
    finish_level: int
    water_texture: bool
    paint: Paint | None
    most_load: Decimal | None
    longest_board: Nm | None
    heaviest_lift: Decimal | None

    @property
    def staying(self) -> Nm:
        """The thickness of old lining that stays on the framing."""
        return self.lining if self.action.keeps_lining else Nm(0)

    @property
    def finished(self) -> Nm:
        """From the framing to the finished face: the lining that stays and the new board."""
        new = self.layers * self.board.thickness if self.action.gets_board else 0
        return Nm(self.staying + new)


def decide(
    room: Room,
    kind: SurfaceKind,
    of: tuple[str, ...],
    rules: Rules,
    *,
    parent: Room | None = None,
    parent_of: tuple[str, ...] = (),
) -> Treatment:
    """Return what happens to the surface that `of` names: its own name first, then wider ones
    (`ceiling`).

    For a room behind a partition, `parent` is the room it was cut from; the choices of the parent
    under `parent_of` hold where the room itself says nothing. An old lining of unknown thickness
    counts as HL-old-lining where a lining is in place or was measured to.
    """
    own = [choice for name in of for choice in room.surfaces if choice.of == name]
    handed = (
        [choice for name in parent_of for choice in parent.surfaces if choice.of == name]
        if parent
        else []
    )
    action = Action.LEAVE if room.finished else _first_action([*own, *handed])
    lining = next((choice.lining for choice in (*own, *handed) if choice.lining is not None), None)
    old = parent or room
    lined = action.keeps_lining or (
        old.measured_to is MeasuredTo.FINISHED and (parent is None or bool(parent_of))
    )
    framing, inherited = _framing(room, kind, own, parent, handed)
    is_wall = kind is SurfaceKind.WALL
    boards = [
        *(choice.board for choice in own),
        room.wall_board if is_wall else room.ceiling_board,
        *(choice.board for choice in handed),
        (parent.wall_board if is_wall else parent.ceiling_board) if parent else None,
    ]
    choices = [*own, *handed]
    rooms = [room, parent] if parent else [room]
    above = None if is_wall else next((choice.above for choice in choices if choice.above), None)
    told = next((choice.insulated for choice in choices if choice.insulated is not None), None)
    return Treatment(
        action=action,
        lining=lining
        if lining is not None
        else (figures.length("HL-old-lining") if lined else Nm(0)),
        lining_assumed=lining is None and lined and not room.finished,
        board=next((b for b in boards if b), rules.wall_board if is_wall else rules.ceiling_board),
        orientation=next(
            (choice.orientation for choice in choices if choice.orientation), rules.orientation
        ),
        joint_mode=next(
            (choice.joint_mode for choice in choices if choice.joint_mode), rules.joint_mode
        ),
        framing=framing,
        framing_inherited=inherited,
        rated=next((choice.rated for choice in choices if choice.rated), None),
        wet=any(choice.wet for choice in choices),
        braces=any(choice.braces for choice in choices),
        insulated=bool(told),
        maybe_insulated=not is_wall and told is None and above is not Above.ROOM,
        under_living=above is Above.ROOM and any(one.garage for one in rooms),
        layers=max((choice.layers for choice in choices), default=1),
        old_lining=next((choice.old_lining for choice in choices if choice.old_lining), None),
        insulation=next((choice.insulation for choice in own if choice.insulation), None),
        patches=next((choice.patches for choice in own if choice.patches), ()),
        tiled=any(choice.tiled for choice in choices),
        finish_level=room.finish.wall_level if is_wall else room.finish.ceiling_level,
        water_texture=room.finish.texture and not is_wall,
        paint=next(
            (choice.paint for choice in own if choice.paint),
            room.finish.wall_paint if is_wall else room.finish.ceiling_paint,
        ),
        most_load=next((choice.most_load for choice in choices if choice.most_load), None),
        longest_board=min(
            (
                length
                for length in (*(room.longest_board for room in rooms), rules.longest_board)
                if length
            ),
            default=None,
        ),
        heaviest_lift=min(
            (
                weight
                for weight in (*(room.heaviest_lift for room in rooms), rules.heaviest_lift)
                if weight
            ),
            default=None,
        ),
    )


def _first_action(choices: list[SurfaceChoice]) -> Action:
    return next((choice.action for choice in choices if choice.action), Action.BOARD)


def _framing(
    room: Room,
    kind: SurfaceKind,
    own: list[SurfaceChoice],
    parent: Room | None,
    handed: list[SurfaceChoice],
) -> tuple[Framing, bool]:
    is_wall = kind is SurfaceKind.WALL
    mine = [
        *(choice.framing for choice in own),
        room.wall_framing if is_wall else room.ceiling_framing,
    ]
    for framing in mine:
        if framing:
            return framing, False
    if parent and handed is not None:
        theirs = [
            *(choice.framing for choice in handed),
            parent.wall_framing if is_wall else parent.ceiling_framing,
        ]
        for framing in theirs:
            if framing:
                return framing, True
    return Framing(), False


def moved_framing(framing: Framing, shift: Nm, length: Nm, whole: Nm) -> Framing:
    """Return the members as they stand behind a part of the surface, which starts `shift` along
    their run and is `length` long.

    Single members outside the part are left out. Where the part ends and the whole surface does
    not, nobody knows whether the end is backed.
    """
    if shift == 0 and length == whole:
        return framing
    first = framing.first - shift
    if first < 0:
        first = first % framing.spacing if framing.spacing else 0

    def here(at: Nm) -> bool:
        return 0 < at - shift < length

    return replace(
        framing,
        first=Nm(first),
        extra=tuple(Nm(at - shift) for at in framing.extra if here(at)),
        missing=tuple(Nm(at - shift) for at in framing.missing if here(at)),
        uneven=tuple(
            replace(member, at=Nm(member.at - shift))
            for member in framing.uneven
            if here(member.at)
        ),
        start_backed=framing.start_backed if shift == 0 else None,
        end_backed=framing.end_backed if shift + length == whole else None,
    )


def default_runs(kind: SurfaceKind, *, level: bool, wide: Nm, deep: Nm) -> tuple[Runs, bool]:
    """How members lie where nobody said, and whether that is sure: studs upright, rafters up the
    slope, joists over the shorter way of the whole ceiling (common practice, no published source),
    which must be looked at."""
    if kind is SurfaceKind.WALL or not level:
        return Runs.ACROSS, True
    return (Runs.ACROSS if deep <= wide else Runs.ALONG), False
