"""One who has a print set and nothing else: reads its text, cuts each piece from its sheet, marks
it, and hangs it."""

from __future__ import annotations

import io
import re
from dataclasses import dataclass, field

import pytest

from remodel.board.queries import pile_result_of
from remodel.cards.queries import cards_for
from remodel.history.services import By
from remodel.house.models import Room
from remodel.house_files.imports import save_house_value
from takeoff.choices import SurfaceKind
from takeoff.geometry.rooms import house_geometry
from takeoff.units import INCH, UnitSystem, parse_length
from tests.properties.card_reader import Words, cut_from_sheet
from tests.properties.random_houses import random_house
from tests.remodel.factories import accept_stops, ada
from tests.remodel.site import print_set

pypdf = pytest.importorskip("pypdf")
pytest.importorskip("weasyprint")
pytestmark = pytest.mark.django_db

LENGTH = r"""(?:(?:\d+' )?(?:\d+ )?(?:\d+/\d+|\d+)"|\d+ mm)"""
SIZE = rf"{LENGTH} x {LENGTH}"
SHEET = re.compile(rf"Sheet ([A-Z]+\d+) .+? · ({SIZE}) · (a new sheet|from offcut .+?) · face up")
ACTS = "(?:Crosscut|Saw|Rip|Trim|Mark|Last,) "
CUT = re.compile(rf"({ACTS}.+?)(?=\s*(?:\d+\.)?\s*(?:{ACTS}|Keep |$))")
MARK = re.compile(
    rf"(?P<size>{SIZE}|{LENGTH} round), to its (?P<to>sides|center) Left (?P<left>{LENGTH}) "
    rf"Right (?P<right>{LENGTH}) Near (?P<near>{LENGTH}) Far (?P<far>{LENGTH})"
)
ON_WALL = re.compile(
    rf"Left side ({LENGTH}) (from|past) the framing corner on its left, lower edge ({LENGTH}) "
    r"above the subfloor"
)
TURNED = "On the sheet it is turned 180°"


@dataclass
class ReadPiece:
    size: str
    turned: bool
    top_is_far: bool
    marks: list[dict[str, str]]
    hangs: tuple[str, str, str] | None


@dataclass
class ReadSheet:
    size: str
    source: str
    cuts: list[str]
    pieces: dict[str, ReadPiece] = field(default_factory=dict)


def text_of(printed: bytes) -> str:
    pages = []
    for page in pypdf.PdfReader(io.BytesIO(printed)).pages:
        # what runs along the margins of each page
        text = re.sub(r"Printed .+? · revision \S+ · code \S+", " ", page.extract_text())
        pages.append(text)
    text = re.sub(r"\s+", " ", " ".join(pages))
    # no mark is shared by two lines
    assert re.findall(r"[A-Z\d]- [A-Z]+\d", text) == []
    return text


def read(printed: bytes, room: str) -> dict[str, ReadSheet]:
    """The sheets of the print set of a room, with their pieces, in the order of the paper."""
    found: dict[str, ReadSheet] = {}
    head = re.compile(rf"(?<![\w-])([A-Z]+\d*-[A-Z]+\d+) ({SIZE}) {re.escape(room)}")
    for part in re.split(rf"(?=Sheet [A-Z]+\d+ {re.escape(room)})", text_of(printed))[1:]:
        about = SHEET.match(part)
        assert about, part[:200]
        heads = list(head.finditer(part))
        assert heads, part[:200]
        first = part[: heads[0].start()]
        cuts = [cut[1] for cut in CUT.finditer(first.rstrip())]
        sheet = found[about[1]] = ReadSheet(about[2], about[3], cuts)
        for one, two in zip(heads, [*heads[1:], None], strict=True):
            words = part[one.start() : two.start() if two else len(part)]
            placed = ON_WALL.search(words)
            sheet.pieces[one[1]] = ReadPiece(
                size=one[2],
                turned=TURNED in words,
                top_is_far="FACE UP - far edge is the TOP" in words,
                marks=[mark.groupdict() for mark in MARK.finditer(words)],
                hangs=(placed[1], placed[2], placed[3]) if placed else None,
            )
    return found


def length(text: str, units: UnitSystem) -> int:
    return int(parse_length(text, unit=units))


def check(room: Room, printed: bytes, things: list[tuple[float, float]] | None) -> set[str]:
    """Hold what the paper says against the plan; `things` are the middles of what is to be cut out
    of the room's walls. Gives the kinds of checks that were made."""
    units = UnitSystem(room.house.units)
    sheets = {sheet.code: sheet for sheet in cards_for(room).sheets if room.key in sheet.rooms}
    paper = read(printed, room.name)
    done = set()
    assert paper.keys() == sheets.keys()
    for code, sheet in sheets.items():
        told = paper[code]
        assert told.pieces.keys() == {piece.code for piece in sheet.pieces}
        cut = cut_from_sheet(
            Words(
                size=told.size,
                source=told.source,
                cuts=told.cuts,
                pieces={code: (piece.size, piece.turned) for code, piece in told.pieces.items()},
                square_edged="ement" in sheet.board_name,
            ),
            units,
        )
        for piece in sheet.pieces:
            for side in piece.sides:
                if made := cut[piece.code].made.get(side.where.lower()):
                    assert made == side.finish
                    done.add(made)
        for piece in told.pieces.values():
            done |= check_marks(piece, units, things)
    return done


def check_marks(
    piece: ReadPiece, units: UnitSystem, things: list[tuple[float, float]] | None
) -> set[str]:
    """The measures of each hole add up to its piece; and hung where the paper says, a hole lies
    where something of the wall wants one."""
    done = set()
    long, across = (length(part, units) for part in piece.size.split(" x "))
    for mark in piece.marks:
        left, right, near, far = (
            length(mark[way], units) for way in ("left", "right", "near", "far")
        )
        if mark["to"] == "sides":
            wide, high = (length(part, units) for part in mark["size"].split(" x "))
        else:
            wide = high = 0
        assert (left + wide + right, near + high + far) == (long, across)
        done.add("adds up")
        whole = min(left, right, near, far) > 0
        if things is not None and whole and piece.top_is_far and piece.hangs:
            aside, way, up = piece.hangs
            corner = length(aside, units) * (1 if way == "from" else -1)
            x, y = corner + left + wide / 2, length(up, units) + near + high / 2
            off = min(max(abs(x - u), abs(y - v)) for u, v in things)
            assert off < INCH / 4, (mark, off / INCH)
            done.add("hole where it is wanted")
    return done


def test_kitchen_is_cut_and_marked_by_its_paper_alone(room):
    done = check(room, print_set(ada(), room, phase="hanging"), None)

    assert {"tapered edge", "cut edge", "adds up"} <= done


@pytest.mark.parametrize(
    "seed", [3, *(pytest.param(k, marks=pytest.mark.deep) for k in range(20, 60))]
)
def test_rooms_of_random_houses_are_cut_marked_and_hung_by_their_paper_alone(seed):
    value = random_house(seed)
    house = save_house_value(by=By(ada()), value=value)
    accept_stops(house)
    walls = [
        surface
        for geometry in house_geometry(value).rooms
        for surface in geometry.surfaces
        if surface.kind is SurfaceKind.WALL
    ]
    things = [
        (
            (thing.left + thing.right) / 2 - min(u for u, _ in wall.outline),
            (thing.bottom + thing.top) / 2,
        )
        for wall in walls
        for thing in (*wall.cutouts, *wall.openings)
    ]
    done = set()
    for room in Room.objects.filter(house=house).select_related("house", "behind"):
        if pile_result_of(room) is None or not cards_for(room).sheets:
            continue
        done |= check(room, print_set(ada(), room, phase="hanging"), things)

    assert done
