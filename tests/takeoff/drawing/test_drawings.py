"""What holds of every drawing: its words are clear of each other and on the page, they stand in its
table, they are large enough to read, and it is safe and small enough for a page."""

import re
from functools import cache
from xml.etree import ElementTree

import pytest

from takeoff.cards.card import sheet_cards
from takeoff.cards.frames import SideUp, room_frames
from takeoff.cards.marks import CardSettings
from takeoff.choices import CeilingKind, SurfaceKind
from takeoff.drawing.canvas import TextLine
from takeoff.drawing.elevation import surface_drawing
from takeoff.drawing.facts import Drawing
from takeoff.drawing.layout import Box
from takeoff.drawing.piece_drawing import piece_drawing
from takeoff.drawing.plan import plan_drawing
from takeoff.drawing.section import section_drawing
from takeoff.drawing.sheet_drawing import sheet_drawing
from takeoff.drawing.style import COLUMN, DRAWING_CSS, HALF, PAPER, PHONE, PHONE_ROOM, Page
from takeoff.drawing.svg import MOST_BYTES, MOST_ELEMENTS
from takeoff.errors import BadValue
from takeoff.house import House, QuickRoom, Room
from takeoff.job import take_off
from takeoff.units import UnitSystem
from tests.properties.random_houses import random_house
from tests.takeoff.drawing.house import CATALOGUE, HEBREW, box, inches, takeoff
from tests.takeoff.houses import demo_house, demo_takeoff

SVG = "{http://www.w3.org/2000/svg}"


def page_of(kind, page_name) -> Page:
    if page_name == "paper":
        return COLUMN if kind == "piece" else PAPER
    return PHONE_ROOM if kind in ("surface", "plan", "section") else PHONE


@cache
def drawings(kind, page_name) -> tuple[Drawing, ...]:
    page = page_of(kind, page_name)
    made = takeoff()
    up = SideUp.BACK if page_name == "phone" else SideUp.FACE
    cards = sheet_cards(made, CardSettings(up=up))
    units = made.house.units
    if kind == "surface":
        return tuple(
            surface_drawing(made, s.id, page=page) for room in made.rooms for s in room.surfaces
        )
    if kind == "plan":
        return tuple(plan_drawing(made, room.room, page=page) for room in made.rooms)
    if kind == "section":
        return (section_drawing(made, "loft", page=page),)
    if kind == "sheet":
        return tuple(sheet_drawing(card, units, page=page) for card in cards)
    return tuple(piece_drawing(piece, units, page=page) for card in cards for piece in card.pieces)


every = pytest.mark.parametrize(
    ("kind", "page"),
    [(k, p) for k in ("surface", "plan", "section", "sheet", "piece") for p in ("paper", "phone")],
)


def words_of(drawing):
    return list(ElementTree.fromstring(drawing.svg).iter(f"{SVG}text"))


@every
def test_no_two_words_meet(kind, page):
    for drawing in drawings(kind, page):
        assert len(drawing.texts) == len(words_of(drawing)) > 3
        assert not [
            (a, b)
            for k, a in enumerate(drawing.texts)
            for b in drawing.texts[k + 1 :]
            if a.meets(b)
        ]


def crosses_of(drawing):
    """The middle of every hole's cross, and the boxes of its two arms."""
    for path in ElementTree.fromstring(drawing.svg).iter(f"{SVG}path"):
        if path.get("class") == "centre":
            ends = [
                tuple(map(int, spot.split(",")))
                for spot in re.findall(r"-?\d+,-?\d+", path.get("d"))
            ]
            for (x0, y0), (x1, y1) in zip(ends[::2], ends[1::2], strict=True):
                yield Box(x0 - 8, y0 - 8, x1 + 8, y1 + 8)


@pytest.mark.parametrize("kind", ["surface", "piece"])
@pytest.mark.parametrize("page", ["paper", "phone"])
def test_no_word_touches_the_cross_of_a_hole(kind, page):
    arms = [(drawing, arm) for drawing in drawings(kind, page) for arm in crosses_of(drawing)]
    assert len(arms) > 10
    assert not [
        (drawing.title, arm) for drawing, arm in arms for text in drawing.texts if text.meets(arm)
    ]


@pytest.mark.parametrize("page", ["paper", "phone"])
def test_every_screw_line_and_member_has_its_reading_drawn(page):
    rows = [
        fact
        for kind in ("surface", "piece")
        for drawing in drawings(kind, page)
        for fact in drawing.facts
    ]
    readings = [fact for fact in rows if fact.kind in ("Screw line", "Stud or joist")]
    assert len(readings) > 100
    assert not [fact for fact in readings if not fact.drawn]


@pytest.mark.parametrize("page", ["paper", "phone"])
def test_what_every_edge_of_a_piece_meets_is_drawn_in_words(page):
    cards = [
        piece
        for card in sheet_cards(takeoff())
        for piece in card.pieces
        if piece.surface.startswith("loft/")
    ]
    drawn = [
        piece_drawing(piece, UnitSystem.INCH, page={"paper": COLUMN, "phone": PHONE}[page])
        for piece in cards
    ]
    for card, drawing in zip(cards, drawn, strict=True):
        words = " ".join(text.text or "" for text in words_of(drawing))
        for side in card.sides:
            bare = side.text.replace("toward ", "").replace("meets ", "").replace("against ", "")
            assert all(word in words for word in bare.replace("the ", "").split()), side.text


@pytest.mark.parametrize(("page", "least"), [("paper", 353), ("phone", 414)])
def test_words_of_a_piece_are_ten_points_on_paper_and_sixteen_pixels_on_a_phone(page, least):
    # 10 pt are 3.53 mm; a phone of 390 px shows the 94 mm of its drawing on some 363 of them
    for card in sheet_cards(takeoff()):
        for piece in card.pieces:
            drawing = piece_drawing(
                piece, UnitSystem.INCH, page={"paper": COLUMN, "phone": PHONE}[page]
            )
            assert min(int(text.get("font-size")) for text in words_of(drawing)) >= least


@pytest.mark.parametrize("settings", [CardSettings(), CardSettings(up=SideUp.BACK)])
def test_piece_says_above_it_which_side_is_up_and_where_its_top_or_end_goes(settings):
    for card in sheet_cards(takeoff(), settings):
        for piece in card.pieces:
            drawing = piece_drawing(piece, UnitSystem.INCH, page=PHONE)
            first, *rest = [text.text for text in words_of(drawing)]
            assert first == piece.lying.bar
            assert first.startswith(f"{settings.up.value.upper()} - ")
            assert "you kneel here" in rest


@every
def test_nothing_falls_off_the_page(kind, page):
    for drawing in drawings(kind, page):
        for text in drawing.texts:
            assert min(text.left, text.top) >= 0
            assert text.right <= drawing.width
            assert text.bottom <= drawing.height
        for points in re.findall(
            r' (?:points|d)="([^"]+)"', re.sub(r"<defs>.*?</defs>", "", drawing.svg)
        ):
            # a circle starts at its left; what follows of it is told from there
            numbers = [int(n) for n in re.findall(r"-?\d+", re.sub(r"a[-0-9, ]+", "", points))]
            assert min(numbers) >= 0
            assert max(numbers[::2]) <= drawing.width
            assert max(numbers[1::2]) <= drawing.height


@every
def test_smallest_text_is_three_millimetres_on_paper(kind, page):
    for drawing in drawings(kind, page):
        assert min(int(text.get("font-size")) for text in words_of(drawing)) >= 300


@every
def test_every_word_in_a_drawing_stands_in_its_table(kind, page):
    for drawing in drawings(kind, page):
        labels = {fact.label for fact in drawing.facts if fact.drawn}
        assert {text.text for text in words_of(drawing)} <= labels


@every
def test_table_tells_all_that_is_drawn_once(kind, page):
    for drawing in drawings(kind, page):
        rows = drawing.table
        assert len(set(rows)) == len(rows)
        listed = "\n".join(f"{row.label}\n{row.says}" for row in rows)
        plain = listed.replace("\u2068", "").replace("\u2069", "")
        for text in words_of(drawing):
            assert text.text.replace("\u2068", "").replace("\u2069", "").rstrip("… ·") in plain


@every
def test_drawing_is_within_what_a_page_takes(kind, page):
    for drawing in drawings(kind, page):
        root = ElementTree.fromstring(drawing.svg)
        assert sum(1 for _ in root.iter()) <= MOST_ELEMENTS
        assert len(drawing.svg.encode()) <= MOST_BYTES
        assert drawing.width == page_of(kind, page).width


@every
def test_drawing_has_no_style_script_or_handler(kind, page):
    for drawing in drawings(kind, page):
        root = ElementTree.fromstring(drawing.svg)
        assert {element.tag.removeprefix(SVG) for element in root.iter()} <= {
            "svg",
            "title",
            "desc",
            "defs",
            "pattern",
            "path",
            "polygon",
            "circle",
            "text",
            "g",
        }
        for element in root.iter():
            assert not [
                name
                for name in element.attrib
                if name == "style" or name.startswith("on") or "href" in name
            ]


@every
def test_every_class_has_a_look(kind, page):
    known = set(re.findall(r"\.([a-z][a-z-]*)", DRAWING_CSS))
    for drawing in drawings(kind, page):
        used = {
            name for names in re.findall(r'class="([^"]+)"', drawing.svg) for name in names.split()
        }
        assert used <= known | {"told", "unboarded-hatch", "backer-hatch", "blocking-hatch"}


def test_meaning_is_in_line_style_and_never_in_colour_alone():
    looks = dict(re.findall(r"\.drawing \.(\S+) \{ ([^}]*)\}", DRAWING_CSS))
    without_colour = {
        name: re.sub(r"(stroke|fill): var\([^)]*\);? ?", "", looks.get(name, ""))
        for name in (
            "cut",
            "factory",
            "butt",
            "floating",
            "member",
            "nailer",
            "screws",
            "later",
            "pipe",
        )
    }
    assert len(set(without_colour.values())) == len(without_colour)


def test_hostile_name_is_a_number_that_is_told_at_the_foot_as_text():
    made = takeoff()
    drawing = surface_drawing(made, "odd/A")
    assert "<script" not in drawing.svg
    assert not {"\u202e", "\x07"} & set(drawing.svg)
    row = next(fact for fact in drawing.facts if fact.kind == "Opening")
    told = " ".join(fact.label for fact in drawing.facts if fact.kind == "Numbers")
    assert re.fullmatch(r"\(\d\)", row.label)
    assert f"{row.label} <script>" in told
    assert row.says.startswith('<script>alert("1")</script> & gnp.exe very long')


def test_right_to_left_name_is_isolated():
    drawing = surface_drawing(takeoff(), "odd/A")
    assert any(f"\u2068{HEBREW}\u2069" in fact.label for fact in drawing.facts)


def test_surface_drawing_has_every_board_seam_kind_and_hole():
    drawing = surface_drawing(takeoff(), "loft/A")
    labels = {fact.label for fact in drawing.facts}
    plan = next(plan for plan in takeoff().surface_plans if plan.surface == "loft/A")
    assert {piece.code for piece in plan.pieces} <= labels
    assert {
        "floating butt seam",
        "seam backer",
        "tapered seam",
        "opening",
        "Switch",
        "Door",
    } <= labels


def test_running_dimensions_start_at_the_left_framing_corner():
    drawing = surface_drawing(takeoff(), "loft/A")
    across = {fact.label: fact.says for fact in drawing.facts if fact.kind == "Across"}
    assert across['0"'] == "where the tape starts"
    assert across["8' 4\""] == "left side of Door"
    assert across["11' 6\""] == "right side of Door"
    assert "corner" in across["15' 10\""]


def test_metric_house_reads_millimetres():
    drawing = surface_drawing(takeoff(UnitSystem.MILLIMETRE), "loft/A")
    across = [fact.label for fact in drawing.facts if fact.kind == "Across"]
    assert "4826 mm" in across
    assert all(label.endswith(" mm") for label in across)


def test_ceiling_says_that_it_is_seen_from_below():
    drawing = surface_drawing(takeoff(), "odd/ceiling")
    assert any("seen from below" in fact.label for fact in drawing.facts)
    assert {"Wall A", "Wall B", "Wall C", "Wall D"} <= {
        fact.label for fact in drawing.facts if fact.kind == "Side"
    }


def test_plan_names_every_wall_with_its_length():
    drawing = plan_drawing(takeoff(), "loft")
    walls = {fact.says for fact in drawing.facts if fact.kind == "Wall"}
    assert walls == {
        "Wall A, 15' 10\" at the framing; its boards are marked L-A",
        "Wall B, 12' 6\" at the framing; its boards are marked L-B",
        "Wall C, 15' 10\" at the framing; its boards are marked L-C",
        "Wall D, 12' 6\" at the framing; its boards are marked L-D",
    }


def test_section_of_a_gable_shows_both_slopes_in_true_length():
    drawing = section_drawing(takeoff(), "loft")
    # half of 150 in, 33 in up: 81.94 in along the slope, 6' 9 15/16" to the sixteenth
    assert [fact.label for fact in drawing.facts if fact.kind == "Slope"] == [
        "6' 9 15/16\" along the slope"
    ]
    assert {'0"', "6' 3\"", "12' 6\""} <= {
        fact.label for fact in drawing.facts if fact.kind == "From the low wall"
    }


def test_section_of_a_flat_ceiling_is_refused():
    with pytest.raises(BadValue, match="no sloped ceiling"):
        section_drawing(takeoff(), "odd")


def test_unknown_surface_and_room_are_refused():
    with pytest.raises(BadValue, match="No surface"):
        surface_drawing(takeoff(), "odd/Z")
    with pytest.raises(BadValue, match="No room"):
        plan_drawing(takeoff(), "cellar")


def test_standalone_file_carries_its_stylesheet():
    text = plan_drawing(takeoff(), "loft").standalone()
    root = ElementTree.fromstring(text)
    assert root.find(f"{SVG}style").text == DRAWING_CSS


def test_wall_full_of_boxes_still_comes_on_a_page_and_in_its_table():
    cutouts = tuple(
        box(f"b{k}-{j}", "A", 10 + 6 * k, 10 + 7 * j, name=f"Box {k}-{j}")
        for k in range(16)
        for j in range(10)
    )
    room = Room(
        id="r", name="Room", shape=QuickRoom(length=inches(120), width=inches(100)), cutouts=cutouts
    )
    drawing = surface_drawing(
        take_off(House(id="h", name="H", rooms=(room,), catalogue=CATALOGUE)), "r/A"
    )
    listed = " ".join(fact.label + " " + fact.says for fact in drawing.facts if fact.kind == "Hole")
    assert all(f"Box {k}-{j}" in listed for k in range(16) for j in range(10))
    assert not [
        (a, b) for k, a in enumerate(drawing.texts) for b in drawing.texts[k + 1 :] if a.meets(b)
    ]


def test_box_behind_a_partition_framed_later_is_on_the_plan_of_the_room_it_will_be_in():
    made = take_off(demo_house("hollow-lane"))
    before, behind = (plan_drawing(made, room) for room in ("main-bedroom", "main-closet"))
    sentences = [
        [
            fact.says
            for fact in drawing.facts
            if fact.kind == "Hole" and "Receptacle east" in f"{fact.label} {fact.says}"
        ]
        for drawing in (before, behind)
    ]

    assert ["behind a partition" in "".join(texts) for texts in sentences] == [True, False]
    assert len(sentences[1]) == 1
    assert before.svg.count('r="110"') == 2  # the light, and the sample below
    assert behind.svg.count('r="110"') == 2


def distance_to(side, point):
    (x0, y0), (x1, y1) = side
    far = max(abs(x1 - x0), abs(y1 - y0), 1)
    part = ((point[0] - x0) * (x1 - x0) + (point[1] - y0) * (y1 - y0)) / far**2
    part = min(max(part, 0), 1)
    return abs(point[0] - x0 - part * (x1 - x0)) + abs(point[1] - y0 - part * (y1 - y0))


def test_ceiling_names_the_wall_it_is_read_from_and_what_changes_places_against_the_plan():
    """By the corners of the room's plan alone: which of its sides the drawing is measured from, at
    its bottom under a slope and at its top where it is level, and which way one moves in plan who
    moves to the right on the drawing."""
    told = set()
    for made in (takeoff(), demo_takeoff("hollow-lane")):
        for room in made.rooms:
            frames = room_frames(room, made.house)
            plan = list(zip(room.plan, (*room.plan[1:], *room.plan[:1]), strict=True))
            for surface in room.surfaces:
                if surface.kind is not SurfaceKind.CEILING:
                    continue
                facts = surface_drawing(made, surface.id, page=HALF).facts
                says = " ".join(fact.says for fact in facts)
                low = min(v for _, v in surface.outline)
                lower = [u for u, v in surface.outline if v == low]
                ends = [frames[surface.id].to_room((u, low)) for u in (min(lower), max(lower))]
                middle = [(a + b) / 2 for a, b in zip(*ends, strict=True)]
                at = min(range(len(plan)), key=lambda k: distance_to(plan[k], middle))
                side = room.plan_sides[at]
                letter = side.mark.rpartition("-")[2]
                level = made.house.room(room.room).ceiling.kind is CeilingKind.FLAT
                place = "top" if level else "bottom"
                assert re.search(rf"{re.escape(side.name)}(?: \({letter}\))? at the {place}", says)
                right = (ends[1][0] - ends[0][0]) * (-1 if level else 1)
                same = "left and right are as on the plan" in says
                turned = "left and right change places" in says
                assert (same, turned) == (right > 0, right < 0)
                told.add(same)
    assert told == {True, False}


def highest(drawing: Drawing, kind: str) -> str:
    """Of the words of that kind those that stand highest on a drawing; a number for what it stands
    for."""
    meant = {fact.label: fact for fact in drawing.facts if fact.kind == kind and fact.drawn}
    words = [
        shape
        for shape in drawing.canvas.shapes
        if isinstance(shape, TextLine) and shape.text in meant
    ]
    fact = meant[min(words, key=lambda line: line.y).text]
    return fact.says if fact.label.startswith("(") else fact.label


@pytest.mark.parametrize("page", [HALF, PAPER], ids=["half", "whole"])
def test_first_wall_is_at_the_top_of_plans_and_level_ceilings(page):
    for made in (demo_takeoff("hollow-lane"), take_off(random_house(300))):
        seen = 0
        for room in made.rooms:
            if not room.plan or made.house.room(room.room).ceiling.kind is not CeilingKind.FLAT:
                continue
            first = room.plan_sides[0].name
            assert highest(plan_drawing(made, room.room, page=page), "Wall").startswith(first)
            for surface in room.surfaces:
                if surface.id == f"{room.room}/ceiling":
                    drawing = surface_drawing(made, surface.id, page=page)
                    assert highest(drawing, "Side").startswith(first), surface.id
                    seen += 1
        assert seen


def test_small_plan_beside_a_surface_has_the_letters_of_the_walls():
    facts = surface_drawing(takeoff(), "loft/ceiling-far", page=HALF).facts
    assert {fact.label for fact in facts if fact.kind == "Key plan"} == {*"ABCD", "plan"}


@pytest.mark.parametrize("page", [COLUMN, PHONE], ids=["paper", "phone"])
def test_arrow_of_every_piece_has_all_its_words_beside_it(page):
    # a wall of the demo house has a name that takes two lines on a phone
    for made in (demo_takeoff("hollow-lane"), take_off(random_house(300))):
        for card in sheet_cards(made):
            for piece in card.pieces:
                drawing = piece_drawing(piece, made.house.units, page=page)
                arrow = [fact for fact in drawing.facts if fact.kind == "Arrow"]
                assert all(fact.drawn for fact in arrow)
                assert " ".join(fact.label for fact in arrow) == piece.lying.arrow_text
