"""The pages of a pack: what is on them, how a drawing stands on paper, and the revision of what was
printed."""

from __future__ import annotations

import base64
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass
from itertools import groupby
from typing import Any

import segno
from django.conf import settings
from django.core.cache import cache
from django.template.loader import render_to_string
from django.urls import reverse
from django.utils import timezone
from django.utils.html import format_html
from django.utils.safestring import SafeString

from remodel.board.queries import old_cards, pile_result_of, view_of
from remodel.bridge import cards as cards_bridge
from remodel.bridge import codec, house_value
from remodel.bridge.cut_lists import SticksOfOne, cut_lists_of
from remodel.bridge.lengths import BadValue
from remodel.bridge.paper_drawings import PaperDrawing
from remodel.bridge.piles import engine_version
from remodel.cards.models import PrintPack
from remodel.cards.queries import (
    cards_for,
    choices_of,
    digest_of,
    first_layer_for,
    hanging_for,
    plain_choices,
    surface_names,
    troubles_for,
)
from remodel.house.models import House, Room
from remodel.house.queries import whole_house

__all__ = [
    "PARTS",
    "PHASES",
    "HangGroup",
    "RoomPart",
    "SheetPages",
    "changed_since",
    "figure",
    "hang_groups",
    "hang_reasons",
    "pack_html",
    "revision_of",
    "room_part",
    "sheets_in",
    "sheets_to_throw_away",
    "side_by_side",
    "ways_to_lie",
]

PARTS = {
    "drawings": "Drawings",
    "lumber": "Lumber cut list",
    "cards": "Sheet cards",
    "hanging": "Hanging order",
}
# what each phase takes to the work
PHASES: dict[str, tuple[str, tuple[str, ...]]] = {
    "all": ("Everything", ("drawings", "lumber", "cards", "hanging")),
    "framing": ("Framing: drawings and lumber cut list", ("drawings", "lumber")),
    "hanging": ("Hanging: sheet cards and hanging order", ("cards", "hanging")),
    "taping": ("Taping: drawings", ("drawings",)),
}
_DAY = 24 * 3600
_PAGE_HIGH = 1_900  # what a page leaves for a list under its heading and over the reasons
_COLUMN_LETTERS = 42  # that one line of half a page takes


@dataclass(frozen=True, slots=True, kw_only=True)
class PieceOnPaper:
    """A piece on paper. One with a hole, a notch, a slope or a turned edge has its `figure`, and
    the `key_plan` of its room; of a plain rectangle the edges are told in words. `why_not` says
    that there is too much on it to draw."""

    shown: cards_bridge.PieceShown
    figure: SafeString
    key_plan: SafeString
    why_not: str

    @property
    def edges(self) -> tuple[tuple[str, str], ...]:
        """What each edge and end meets and how it is made, where no figure shows it."""
        if self.figure:
            return ()
        places = ("Far edge", "Near edge", "Left end", "Right end")
        return tuple((place, self.shown.edge(place.lower())) for place in places)

    @property
    def seen(self) -> list[object]:
        """All that a reader sees of it."""
        piece = self.shown
        marks = [[getattr(mark, name) for name in mark.__slots__] for mark in piece.marks]
        words = [piece.code, piece.size, piece.goes, piece.bar, piece.lying, piece.where]
        words += [
            piece.screws,
            str(piece.turned),
            str(self.figure),
            str(self.key_plan),
            self.why_not,
        ]
        more = [*piece.last_cuts, *piece.notes, *piece.backers]
        return [words, marks, more, [list(edge) for edge in self.edges]]


@dataclass(frozen=True, slots=True, kw_only=True)
class SheetPages:
    """One sheet on paper, with its pieces in the order they are cut: its `cuts`, what `waits` for a
    later room, and what to `keep` of it. A sheet that is ripped for a piece with a figure has a
    `figure` of its own beside these words. `room_key` is that of the room it is cut in."""

    code: str
    room_key: str
    board: str
    about: str
    figure: SafeString
    cuts: tuple[str, ...]
    waits: tuple[str, ...]
    keep: tuple[str, ...]
    pieces: tuple[PieceOnPaper, ...]

    @property
    def revision(self) -> str:
        """A digest of all that a reader of it sees."""
        words = [self.code, self.about, *self.cuts, *self.waits, *self.keep, str(self.figure)]
        return codec.digest(words, [piece.seen for piece in self.pieces])[:12]


@dataclass(frozen=True, slots=True, kw_only=True)
class HangGroup:
    """Steps on one surface, with its name; or those between surfaces, without a title."""

    title: str
    steps: tuple[cards_bridge.HangStep, ...]


def hang_groups(
    steps: Sequence[cards_bridge.HangStep], names: Mapping[str, str]
) -> tuple[HangGroup, ...]:
    """The steps of hanging in groups, in their order. `names` are those of the surfaces, by key."""
    groups: list[HangGroup] = []
    for title, run in groupby(steps, lambda step: _surface_of(step, names)):
        groups.append(HangGroup(title=title, steps=tuple(run)))
    return tuple(groups)


def side_by_side(
    groups: Sequence[HangGroup],
) -> tuple[tuple[HangGroup, ...], tuple[HangGroup, ...]] | None:
    """The groups in two columns about equally high, in their order; None where they may take more
    than a page."""
    heights = [_group_height(group) for group in groups]
    ways = range(len(groups) + 1)
    at = min(ways, key=lambda k: max(sum(heights[:k]), sum(heights[k:])))
    if max(sum(heights[:at]), sum(heights[at:])) > _PAGE_HIGH:
        return None
    return tuple(groups[:at]), tuple(groups[at:])


def _group_height(group: HangGroup) -> int:
    """How high a group comes out in a column of paper, in tenths of a millimeter, taken large."""
    high = 90 if group.title else 20
    for step in group.steps:
        words = f"{step.code} {step.place}" if step.piece else f"{step.what}. {step.reason}"
        high += 18 + 45 * -(-(len(words) + 4) // _COLUMN_LETTERS)
    return high


def hang_reasons(
    steps: Sequence[cards_bridge.HangStep],
) -> tuple[tuple[tuple[str, ...], str], ...]:
    """Why boards hang as they do: each reason once, with the marks of the boards it holds for."""
    return _each_once((step.reason, step.code) for step in steps if step.piece)


def ways_to_lie(sheets: Sequence[SheetPages]) -> tuple[tuple[tuple[str, ...], str], ...]:
    """How pieces lie to be marked and go up: each way once, with the marks of its pieces."""
    return _each_once(
        (piece.shown.lying, piece.shown.code) for sheet in sheets for piece in sheet.pieces
    )


def _each_once(said: Iterable[tuple[str, str]]) -> tuple[tuple[tuple[str, ...], str], ...]:
    """The marks that each sentence is said of, in the order they come in."""
    codes: dict[str, list[str]] = {}
    for sentence, code in said:
        codes.setdefault(sentence, []).append(code)
    return tuple((tuple(marks), sentence) for sentence, marks in codes.items())


def _surface_of(step: cards_bridge.HangStep, names: Mapping[str, str]) -> str:
    """The name of the surface that a step hangs something on; empty for any other step."""
    if not (step.piece or step.kind == cards_bridge.SEAM_BACKER):
        return ""
    key = step.surface.partition("/")[2]
    return names.get(key, key)


@dataclass(frozen=True, slots=True, kw_only=True)
class RoomPart:
    """What a pack holds of one room. `ways` are how the pieces of its `sheets` are laid down.
    `first_sheets`, `first_ways` and `first_drawings` are those of the first layer of surfaces that
    take two. `revision` is a digest of it all: the same words and lines have the same revision."""

    key: str
    name: str
    drawings: tuple[tuple[str, SafeString], ...]
    lumber: tuple[SticksOfOne, ...]
    sheets: tuple[SheetPages, ...]
    ways: tuple[tuple[tuple[str, ...], str], ...]
    first_sheets: tuple[SheetPages, ...]
    first_ways: tuple[tuple[tuple[str, ...], str], ...]
    first_drawings: tuple[SafeString, ...]
    steps: tuple[cards_bridge.HangStep, ...]
    hang_groups: tuple[HangGroup, ...]
    hang_reasons: tuple[tuple[tuple[str, ...], str], ...]
    troubles: tuple[str, ...]
    revision: str

    @property
    def hang_columns(self) -> tuple[tuple[HangGroup, ...], tuple[HangGroup, ...]] | None:
        """The hanging order in two columns of one page, where it comes on one."""
        return side_by_side(self.hang_groups)

    @property
    def is_short(self) -> bool:
        """Whether it is too short for pages of its own, as that of a closet is."""
        return len(self.drawings) <= 2 and len(self.sheets) <= 4


def room_part(room: Room, parts: Sequence[str], *, shared: Any = None) -> RoomPart | None:
    """A room's part of a pack, kept by the digest of what it is made of; None where the room could
    not be worked out."""
    digest = digest_of(room)
    if not digest:
        return None
    choices = choices_of(room.house_id)
    on_sale: object = ()
    if "lumber" in parts:
        # Sticks on sale are in no digest of a room, for boards do not depend on them.
        shared = shared or house_value(whole_house(room.house_id))
        on_sale = shared.catalogue.materials
    mark = codec.digest(
        engine_version(), digest, plain_choices(choices), room.key, list(parts), room.name, on_sale
    )
    part: RoomPart | None = cache.get(f"pack:{mark}")
    if part is None:
        part = _room_part(room, parts, shared)
        if part is not None:
            cache.set(f"pack:{mark}", part, _DAY)
    return part


def _room_part(room: Room, parts: Sequence[str], shared: Any) -> RoomPart | None:
    result = pile_result_of(room)
    if result is None:
        return None
    seen: list[Any] = [room.name]

    def drawn(drawing: PaperDrawing) -> SafeString:
        made = figure(drawing)
        seen.append(made)
        return made

    drawings: list[tuple[str, SafeString]] = []
    sheets: list[SheetPages] = []
    steps: tuple[cards_bridge.HangStep, ...] = ()
    lumber: tuple[SticksOfOne, ...] = ()
    if "lumber" in parts and (view := view_of(room)) is not None:
        lumber = cut_lists_of(view, shared)
        seen += lumber
    if "drawings" in parts:
        house = shared or house_value(whole_house(room.house_id))
        drawings = [
            (drawing.title, drawn(drawing))
            for drawing, _ in cards_bridge.paper_set(house, room.key, result)
        ]
    if "cards" in parts:
        cards = cards_for(room)
        for sheet in cards.sheets if cards else ():
            if room.key not in sheet.rooms:
                continue
            pages = _sheet_pages(sheet)
            seen.append(pages.revision)
            sheets.append(pages)
    first_sheets: list[SheetPages] = []
    first_drawings: list[SafeString] = []
    if "cards" in parts and (first := first_layer_for(room)) is not None:
        first_drawings = [drawn(drawing) for drawing in first.drawings]
        first_sheets = [_sheet_pages(sheet) for sheet in first.sheets if room.key in sheet.rooms]
        seen += [pages.revision for pages in first_sheets]
    if "hanging" in parts:
        steps = hanging_for(room) or ()
        seen += [[step.what, step.place, step.reason] for step in steps]
    troubles = troubles_for(room)
    return RoomPart(
        key=room.key,
        name=room.name,
        drawings=tuple(drawings),
        lumber=lumber,
        sheets=tuple(sheets),
        ways=ways_to_lie(sheets),
        first_sheets=tuple(first_sheets),
        first_ways=ways_to_lie(first_sheets),
        first_drawings=tuple(first_drawings),
        steps=steps,
        hang_groups=hang_groups(steps, surface_names(room) if steps else {}),
        hang_reasons=hang_reasons(steps),
        troubles=troubles,
        revision=codec.digest(seen, list(troubles))[:12],
    )


def _sheet_pages(sheet: cards_bridge.SheetShown) -> SheetPages:
    drawn = sheet.is_ripped and not all(piece.is_plain for piece in sheet.pieces)
    return SheetPages(
        code=sheet.code,
        room_key=sheet.room_key,
        board=sheet.board_name,
        about=f"{sheet.room} · {sheet.board_name} · {sheet.size} · {sheet.from_} · {sheet.up}",
        figure=figure(cards_bridge.paper_sheet(sheet, prefix="s")) if drawn else SafeString(),
        cuts=sheet.cuts,
        waits=sheet.waits,
        keep=sheet.offcuts,
        pieces=tuple(_on_paper(piece) for piece in sheet.pieces),
    )


def _on_paper(piece: cards_bridge.PieceShown) -> PieceOnPaper:
    made, key_plan, why_not = SafeString(), SafeString(), ""
    if not piece.is_plain:
        try:
            made = figure(cards_bridge.paper_piece(piece, prefix="p"))
            if (plan := cards_bridge.paper_key_plan(piece, prefix="k")) is not None:
                key_plan = figure(plan)
        except BadValue as error:
            why_not = str(error)
    return PieceOnPaper(shown=piece, figure=made, key_plan=key_plan, why_not=why_not)


def figure(drawing: PaperDrawing) -> SafeString:
    """A drawing on a page: a picture, with words that say what it shows for those who cannot see
    it."""
    data = base64.b64encode(drawing.svg.encode()).decode()
    return format_html(
        '<img class="fig" src="data:image/svg+xml;base64,{}" alt="{}" style="width:{};height:{}">',
        data,
        drawing.says,
        _mm(drawing.width),
        _mm(drawing.height),
    )


def _mm(hundredths: int) -> str:
    return f"{hundredths // 100}.{hundredths % 100:02d}mm"


def pack_html(pack: PrintPack, house: House, parts: Sequence[RoomPart]) -> str:
    """The pack as one HTML page for `remodel.printing.pdf`."""
    context = {
        "house": house,
        "pack": pack,
        "paper": pack.paper,
        "parts": parts,
        "wanted": [PARTS[part] for part in pack.parts],
        "address": pack.address,
        "code": segno.make(pack.address, error="m", micro=False).svg_data_uri(scale=4, border=2)
        if pack.address
        else "",
        "short": f"{pack.code[:4]}-{pack.code[4:]}",
        "now": timezone.localtime(),
        "facing": choices_of(house.pk),
        "screw_rule": cards_bridge.screw_rule_in(house.units),
    }
    return render_to_string("packs/pack.html", context)


def revision_of(parts: Sequence[RoomPart]) -> tuple[str, dict[str, str]]:
    """The revision of a whole pack, short enough to read out, and the revision of each room."""
    revisions = {part.key: part.revision for part in parts}
    return codec.digest(revisions)[:6].upper(), revisions


def sheets_in(parts: Sequence[RoomPart]) -> list[list[str]]:
    """The sheets whose cards are in a pack, as it stores them: room, code and revision."""
    sheets = (
        (sheet.room_key, sheet.code, sheet.revision) for part in parts for sheet in part.sheets
    )
    return [list(sheet) for sheet in dict.fromkeys(sheets)]


def sheets_to_throw_away(pack: PrintPack) -> list[str]:
    """The sheets of a pack whose cards are of no use any more, for no plan has them."""
    if not pack.sheets:
        return []
    mine = {(room, code) for room, code, *_ in pack.sheets}
    old = old_cards(pack.house_id, thrown=True)
    return [mark.text for mark in old if (mark.room.key, mark.text) in mine]


def changed_since(pack: PrintPack) -> list[tuple[str, str]]:
    """The name of each room that changed since the pack was printed, and how it changed; empty
    where all of it still stands."""
    rooms = {
        room.key: room
        for room in Room.all_objects.filter(house=pack.house_id, key__in=list(pack.revisions))
    }
    changes = []
    for key, revision in pack.revisions.items():
        room = rooms.get(key)
        if room is None or room.deleted_at is not None:
            changes.append((room.name if room else key, "was removed"))
            continue
        part = room_part(room, pack.parts)
        if part is None:
            changes.append((room.name, "can no longer be worked out"))
        elif part.revision != revision:
            changes.append((room.name, _how_changed(pack, part)))
    return changes


def _how_changed(pack: PrintPack, part: RoomPart) -> str:
    """Which sheets of a room are no longer as a pack has them. Packs of before did not keep what
    each sheet was like."""
    now = {(sheet.room_key, sheet.code): sheet.revision for sheet in part.sheets}
    printed = {(room, code): more for room, code, *more in pack.sheets if more}
    other = [
        sheet.code
        for sheet in part.sheets
        if printed.get((sheet.room_key, sheet.code)) not in (None, [sheet.revision])
    ]
    gone = [code for room, code in printed if room == part.key and (room, code) not in now]
    codes = sorted({*other, *gone})
    if not codes:
        return "is not as it was printed"
    if len(codes) == 1:
        return f"is not as it was printed: sheet {codes[0]}"
    return f"is not as it was printed: sheets {', '.join(codes[:-1])} and {codes[-1]}"


def address_of(build: Callable[[str], str], code: str) -> str:
    """The address that a pack's code opens on another device; empty on a server that only this
    machine reaches."""
    path = reverse("pack-check", args=[code])
    if settings.HOSTED:
        return build(path)
    return f"http://{settings.LAN_HOST}:{settings.PORT}{path}" if settings.LAN_HOST else ""
