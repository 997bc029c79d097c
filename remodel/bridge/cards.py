"""Sheet cards, hanging order and drawings for print sets, as plain values for pages.

Cards are made from a room's stored plans. Its shapes are worked out again; nothing is planned
again. The rooms of a pile share sheets, so cards are made for a whole pile at once; each room
chooses how its own boxes, windows and doors are cut.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field, replace
from typing import Any

from remodel.bridge.drawings import as_drawn, shown_takeoff
from remodel.bridge.drawn import Drawn
from remodel.bridge.paper_drawings import PaperDrawing, on_paper
from remodel.bridge.views import PileResult
from takeoff import codec
from takeoff.cards.card import PieceCard, SheetCard, sheet_cards
from takeoff.cards.card_words import (
    MarkRow,
    mark_rows,
    screw_lines,
    screw_rule,
    screw_words,
    where_words,
)
from takeoff.cards.first_layer import first_layer_takeoff
from takeoff.cards.frames import SideUp
from takeoff.cards.hanging import HangKind, hanging_order
from takeoff.cards.lying_words import side_words
from takeoff.cards.marks import CardSettings
from takeoff.cards.tape import tape
from takeoff.cards.troubles import troubles
from takeoff.drawing.dxf import surface_dxf
from takeoff.drawing.elevation import surface_drawing
from takeoff.drawing.facts import Drawing
from takeoff.drawing.key_plan import key_plan_drawing
from takeoff.drawing.piece_drawing import piece_drawing
from takeoff.drawing.plan import plan_drawing
from takeoff.drawing.room_set import room_set
from takeoff.drawing.section import section_drawing
from takeoff.drawing.sheet_drawing import sheet_drawing
from takeoff.drawing.style import COLUMN, HALF, PHONE, PHONE_ROOM, SMALL
from takeoff.house import House
from takeoff.job import Takeoff
from takeoff.units import INCH, SIXTEENTH, UnitSystem

__all__ = [
    "BACK_UP",
    "FACE_UP",
    "SEAM_BACKER",
    "SMALLEST_TEXT",
    "USUAL_ALLOWANCE",
    "FirstLayer",
    "HangStep",
    "PieceShown",
    "PileCards",
    "RestShown",
    "RoomChoice",
    "SheetShown",
    "SideShown",
    "cards_of_pile",
    "draw_piece",
    "draw_sheet",
    "dxf_of",
    "first_layer_of",
    "hanging_of",
    "held",
    "one_drawing",
    "paper_key_plan",
    "paper_piece",
    "paper_set",
    "paper_sheet",
    "screw_rule_in",
    "troubles_of",
]

FACE_UP, BACK_UP = SideUp.FACE.value, SideUp.BACK.value
SEAM_BACKER = HangKind.BACKER.value  # the kind of such a step
USUAL_ALLOWANCE = int(SIXTEENTH)
MOST_ALLOWANCE = int(INCH)
SMALLEST_TEXT = SMALL  # hundredths of a millimetre


@dataclass(frozen=True, slots=True, kw_only=True)
class RoomChoice:
    """How a room's pieces are marked. `in_place` and `sawn_later` are keys of its boxes, and of its
    windows and doors."""

    up: str = FACE_UP
    allowance: int = USUAL_ALLOWANCE
    in_place: frozenset[str] = field(default_factory=frozenset)
    sawn_later: frozenset[str] = field(default_factory=frozenset)


@dataclass(frozen=True, slots=True, kw_only=True)
class SideShown:
    """One side of a piece as it lies: where it is, what it meets in the room, and how it is
    made."""

    where: str
    meets: str
    finish: str


@dataclass(frozen=True, slots=True, kw_only=True)
class PieceShown:
    """One piece as a page tells it; `key` names it among the pieces of its plan. `bar` says the
    side that is up and where its top or its end goes; `screw_lines` is what of its `screws` holds
    for it alone. `card` is the engine's own."""

    key: str
    code: str
    surface: str
    room: str
    room_key: str
    name: str
    goes: str
    size: str
    turned: bool
    bar: str
    lying: str
    where: str
    sides: tuple[SideShown, ...]
    marks: tuple[MarkRow, ...]
    last_cuts: tuple[str, ...]
    holes: tuple[tuple[str, str, str], ...]
    notches: tuple[tuple[str, tuple[str, ...]], ...]
    screws: str
    screw_lines: str
    backers: tuple[str, ...]
    notes: tuple[str, ...]
    units: str
    card: Any

    @property
    def is_plain(self) -> bool:
        """Whether it is a rectangle with nothing to mark on it, so that it needs no drawing."""
        return not (self.holes or self.notches or self.last_cuts or self.turned)

    def edge(self, where: str) -> str:
        """What its "far edge", "left end" or another meets, and how that is made."""
        return "; ".join(
            f"{side.meets}, {side.finish}" for side in self.sides if side.where.lower() == where
        )


@dataclass(frozen=True, slots=True, kw_only=True)
class RestShown:
    """What is left of a sheet and large enough to keep, in nanometers; `factory_edges` counts its
    long ones. A `planned` rest is cut by the plan itself, as a sheet of its own: into these pieces.
    `place` is its place among the rests of its sheet."""

    place: int
    code: str
    length: int
    width: int
    factory_edges: int
    size: str
    pieces: tuple[str, ...]

    @property
    def planned(self) -> bool:
        return bool(self.pieces)


@dataclass(frozen=True, slots=True, kw_only=True)
class SheetShown:
    """One sheet to cut, in `room`. `pool` and `code` name it in its pile; `board` and `thickness`
    are its plan's, and `plan` names that plan, whatever it was made from. `card` is the engine's
    own."""

    key: str
    code: str
    pool: int
    board: str
    thickness: int
    plan: str
    board_name: str
    room: str
    room_key: str
    size: str
    from_: str
    up: str
    cuts: tuple[str, ...]
    offcuts: tuple[str, ...]
    rests: tuple[RestShown, ...]
    waits: tuple[str, ...]
    pieces: tuple[PieceShown, ...]
    units: str
    card: Any

    @property
    def rooms(self) -> frozenset[str]:
        """The keys of the rooms whose pieces come out of it."""
        return frozenset(piece.room_key for piece in self.pieces)

    @property
    def is_ripped(self) -> bool:
        """Whether it is cut lengthwise, and not across alone."""
        return self.card.sheet.rip_at is not None

    @property
    def things(self) -> frozenset[str]:
        """The keys of the holes and openings that its pieces have a part of."""
        return frozenset(
            mark.id for piece in self.card.pieces for mark in (*piece.holes, *piece.notches)
        )


@dataclass(frozen=True, slots=True, kw_only=True)
class PileCards:
    """Every sheet of a pile in the order they are cut, its head room's key, and its plans by
    board and thickness."""

    head: str
    sheets: tuple[SheetShown, ...]
    plans: Mapping[str, tuple[str, int]]


@dataclass(frozen=True, slots=True, kw_only=True)
class HangStep:
    """One line of the hanging order. `key` stays while the line says the same, whatever comes
    before it.

    `plan`, `piece`, its mark `code` and its `place` are set where it hangs a board; `leave` is
    where the lift goes out.
    """

    key: str
    number: int
    kind: str
    what: str
    reason: str
    surface: str
    plan: str = ""
    piece: str = ""
    code: str = ""
    place: str = ""
    leave: bool = False


def cards_of_pile(
    house: House, room: str, result: PileResult, choices: Mapping[str, RoomChoice]
) -> PileCards:
    """Every sheet of the pile that `room` belongs to. `choices` are by room key. The head room's
    choice gives the side that is up and the tool's allowance for all rooms, because their sheets
    are cut together."""
    return _cards_of(shown_takeoff(house, room, result), result.views[0].head, choices)


@dataclass(frozen=True, slots=True, kw_only=True)
class FirstLayer:
    """The first layer of a pile's surfaces that take two: its sheets, and the surfaces of one room
    drawn with its boards."""

    sheets: tuple[SheetShown, ...]
    drawings: tuple[PaperDrawing, ...]


def first_layer_of(
    house: House, room: str, result: PileResult, choices: Mapping[str, RoomChoice]
) -> FirstLayer | None:
    """The first layer of a room for paper; None where nothing of it takes two layers."""
    under = first_layer_takeoff(shown_takeoff(house, room, result))
    surfaces = [plan.surface for plan in under.surface_plans] if under else []
    mine = [surface for surface in surfaces if surface.partition("/")[0] == room]
    if under is None or not mine:
        return None
    return FirstLayer(
        sheets=_cards_of(under, result.views[0].head, choices).sheets,
        drawings=tuple(
            on_paper(surface_drawing(under, surface, page=HALF, prefix=f"first-{number}"))
            for number, surface in enumerate(mine)
        ),
    )


def _cards_of(shown: Takeoff, head_room: str, choices: Mapping[str, RoomChoice]) -> PileCards:
    house, head = shown.house, choices.get(head_room, RoomChoice())
    by_room: dict[str, dict[tuple[str, str], PieceCard]] = {}
    whole: tuple[SheetCard, ...] = ()
    for geometry in shown.rooms:
        own = choices.get(geometry.room, RoomChoice())
        settings = CardSettings(
            up=SideUp(head.up),
            allowance=type(SIXTEENTH)(head.allowance),
            in_place=own.in_place,
            sawn_later=own.sawn_later,
        )
        whole = sheet_cards(shown, settings)
        by_room[geometry.room] = {
            (piece.surface, piece.code): piece
            for card in whole
            for piece in card.pieces
            if piece.surface.partition("/")[0] == geometry.room
        }
    plans = [
        (plan.surfaces[0].board, int(plan.surfaces[0].thickness), codec.digest(plan))
        for plan in shown.plans
    ]
    units = house.units
    sources = {
        (card.pool, card.sheet.source): tuple(piece.code for piece in card.pieces) for card in whole
    }
    sheets = []
    for card in whole:
        board, thickness, plan = plans[card.pool]
        mine = replace(
            card,
            pieces=tuple(
                by_room[piece.surface.partition("/")[0]][piece.surface, piece.code]
                for piece in card.pieces
            ),
        )
        sheets.append(_sheet(mine, board, thickness, plan, units, sources))
    return PileCards(
        head=head_room,
        sheets=tuple(sheets),
        plans={plan: (board, thickness) for board, thickness, plan in plans},
    )


def hanging_of(house: House, room: str, result: PileResult) -> tuple[HangStep, ...]:
    """The steps of hanging a room, each to be ticked; empty where nothing of it has a plan."""
    shown = shown_takeoff(house, room, result)
    digests = [codec.digest(plan) for plan in shown.plans]
    plan_of = {
        surface.surface: digests[pool]
        for pool, plan in enumerate(shown.plans)
        for surface in plan.surfaces
    }
    steps = []
    for step in hanging_order(shown, room):
        surface = step.surface or ""
        hangs = step.kind is HangKind.PIECE
        piece = f"{surface.partition('/')[2]}.{step.pieces[0]}" if hangs else ""
        steps.append(
            HangStep(
                key=codec.digest(step.kind.value, step.what, surface, list(step.pieces))[:24],
                number=step.number,
                kind=step.kind.value,
                what=held(step.what),
                reason=held(step.reason[:1].upper() + step.reason[1:]),
                surface=surface,
                plan=plan_of.get(surface, "") if hangs else "",
                piece=piece,
                code=step.pieces[0] if hangs else "",
                place=held(step.place),
                leave=step.kind is HangKind.LIFT,
            )
        )
    return tuple(steps)


def troubles_of(house: House, room: str, result: PileResult) -> tuple[tuple[str, str], ...]:
    """What stands in the wrong place on the room's surfaces: the key of each thing, and a plain
    sentence."""
    all_troubles = troubles(shown_takeoff(house, room, result))
    return tuple(
        (trouble.thing, trouble.text)
        for trouble in all_troubles
        if trouble.surface.partition("/")[0] == room
    )


def draw_sheet(sheet: SheetShown, *, prefix: str) -> Drawn:
    """The sheet with its cuts, for a screen; its words stand beside it."""
    units = UnitSystem(sheet.units)
    return as_drawn(sheet_drawing(sheet.card, units, page=PHONE_ROOM, prefix=prefix, notes=False))


def draw_piece(piece: PieceShown, *, prefix: str) -> Drawn:
    """The piece as it lies, for a screen; raises `BadValue` where there is more on it than a page
    takes."""
    return as_drawn(piece_drawing(piece.card, UnitSystem(piece.units), page=PHONE, prefix=prefix))


def paper_sheet(sheet: SheetShown, *, prefix: str) -> PaperDrawing:
    """The sheet for a column of a pack's page; its words stand beside it."""
    return on_paper(
        sheet_drawing(
            sheet.card,
            UnitSystem(sheet.units),
            page=COLUMN,
            prefix=prefix,
            notes=False,
            heading=False,
        )
    )


def paper_piece(piece: PieceShown, *, prefix: str) -> PaperDrawing:
    """The piece for a column of a pack's page; its words stand beside it. Raises `BadValue` where
    there is more on it than a page takes."""
    return on_paper(
        piece_drawing(piece.card, UnitSystem(piece.units), page=COLUMN, prefix=prefix, alone=False)
    )


def paper_key_plan(piece: PieceShown, *, prefix: str) -> PaperDrawing | None:
    """The place of a piece in a small plan of its room; None for a room without a plan."""
    drawing = key_plan_drawing(piece.card, UnitSystem(piece.units), prefix=prefix)
    return on_paper(drawing) if drawing else None


def paper_set(
    house: House, room: str, result: PileResult
) -> tuple[tuple[PaperDrawing, tuple[tuple[str, str, str], ...]], ...]:
    """Every drawing of a room for paper, each with its facts."""
    return tuple(
        (on_paper(drawing), _facts(drawing))
        for drawing in room_set(shown_takeoff(house, room, result), room)
    )


def one_drawing(house: House, room: str, which: str, result: PileResult) -> str:
    """One drawing as an SVG file of its own: `plan`, `section`, or the key of a surface. Raises
    `BadValue` for none."""
    shown = shown_takeoff(house, room, result)
    draw: dict[str, Callable[[], Drawing]] = {
        "plan": lambda: plan_drawing(shown, room),
        "section": lambda: section_drawing(shown, room),
    }
    return draw.get(which, lambda: surface_drawing(shown, f"{room}/{which}"))().standalone()


def dxf_of(house: House, room: str, surface: str, result: PileResult) -> str:
    """A surface as DXF text; raises `BadValue` for no such surface."""
    return surface_dxf(shown_takeoff(house, room, result), f"{room}/{surface}")


def screw_rule_in(units: str) -> str:
    """What holds for the screws of every piece of a house in these units."""
    return held(screw_rule(UnitSystem(units)))


def held(text: str) -> str:
    """The text with each length kept on one line: 11' 7 3/4" is not to be read as 11' 7 where a
    line ends."""
    return re.sub(r"""(?<=[\d'"]) (?=\d)""", "\u00a0", text)


def _facts(drawing: Drawing) -> tuple[tuple[str, str, str], ...]:
    return tuple(dict.fromkeys((fact.kind, fact.label, fact.says) for fact in drawing.table))


def _sheet(
    card: SheetCard,
    board: str,
    thickness: int,
    plan: str,
    units: UnitSystem,
    sources: Mapping[tuple[int, str | None], tuple[str, ...]],
) -> SheetShown:
    sheet = card.sheet
    return SheetShown(
        key=f"{card.pool}-{sheet.code}",
        code=sheet.code,
        pool=card.pool,
        board=board,
        thickness=thickness,
        plan=plan,
        board_name=card.board,
        room=card.room,
        room_key=sheet.room,
        size=held(f"{tape(sheet.length, units)} x {tape(sheet.width, units)}"),
        from_=card.from_,
        up=card.up.value,
        cuts=tuple(held(cut.text) for cut in card.cuts),
        offcuts=tuple(held(offcut) for offcut in card.offcuts),
        rests=tuple(
            RestShown(
                place=place,
                code=offcut.id,
                length=offcut.length,
                width=offcut.width,
                factory_edges=offcut.factory_edges,
                size=held(
                    f"{tape(offcut.length, units, up=False)} x "
                    f"{tape(offcut.width, units, up=False)}"
                ),
                pieces=sources.get((card.pool, offcut.id), ()),
            )
            for place, offcut in enumerate(sheet.offcuts)
        ),
        waits=card.waits,
        pieces=tuple(_piece(piece, units) for piece in card.pieces),
        units=units.value,
        card=card,
    )


def _piece(card: PieceCard, units: UnitSystem) -> PieceShown:
    lay = card.on.lay
    room, _, surface = card.surface.partition("/")
    return PieceShown(
        key=f"{surface}.{card.code}",
        code=card.code,
        surface=surface,
        room=card.room,
        room_key=room,
        name=card.name,
        goes=card.goes,
        size=held(f"{tape(lay.long, units, up=False)} x {tape(lay.across, units, up=False)}"),
        turned=card.on.turned,
        bar=card.lying.bar,
        lying=card.lying.text,
        where=held(where_words(card, units)),
        sides=tuple(_sides(card)),
        marks=tuple(
            replace(
                row,
                size=held(row.size),
                left=held(row.left),
                right=held(row.right),
                near=held(row.near),
                far=held(row.far),
            )
            for row in mark_rows(card, units)
        ),
        last_cuts=tuple(held(cut.text) for cut in card.last_cuts),
        holes=tuple((hole.name, hole.when.value, hole.kind.value) for hole in card.holes),
        notches=tuple((notch.name, notch.steps) for notch in card.notches),
        screws=held(screw_words(card, units)),
        screw_lines=held(screw_lines(card, units)),
        backers=tuple(
            held(
                f"Seam backer behind {' and '.join(backer.meets) or 'the seam'}, "
                f"{tape(backer.length, units)} long"
            )
            for backer in card.backers
        ),
        notes=tuple(held(note) for note in card.notes),
        units=units.value,
        card=card,
    )


def _sides(card: PieceCard) -> list[SideShown]:
    """What each side of the lying piece meets, from the far edge around the piece. A corner that is
    cut out has sides of its own."""
    by_place: dict[str, SideShown] = {}
    corners = card.corners
    for side, start, end in zip(card.sides, corners, (*corners[1:], corners[0]), strict=True):
        where = side_words(start, end, card.on.lay).capitalize()
        by_place[f"{where}{side.text}"] = SideShown(
            where=where, meets=side.text, finish=side.finish.value
        )
    order = ("Far edge", "Right end", "Near edge", "Left end", "Slope", "Corner cut out")
    return sorted(by_place.values(), key=lambda side: order.index(side.where))
