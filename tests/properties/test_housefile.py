"""Any house is written and read back the same; any text is a house or is refused, and nothing else
happens."""

import json
from copy import deepcopy
from decimal import Decimal
from fractions import Fraction
from functools import cache

from hypothesis import given, settings
from hypothesis import strategies as st
from jsonschema import Draft202012Validator

from takeoff.catalogue import (
    BoardEdges,
    BoardKind,
    Catalogue,
    Cutting,
    MaterialOnSale,
    OwnedSheet,
    Pack,
    SheetOnSale,
    StockItem,
)
from takeoff.choices import (
    Action,
    CeilingKind,
    CeilingRows,
    CutoutKind,
    FramedWhen,
    HiddenKind,
    JointMode,
    MeasuredTo,
    MeasureTo,
    OpeningEdge,
    OpeningGiven,
    OpeningKind,
    Orientation,
    Remedy,
    Runs,
    Side,
    Substrate,
    SurfaceKind,
)
from takeoff.errors import HouseFileError
from takeoff.house import (
    BehindPartition,
    Ceiling,
    Cutout,
    Finish,
    Framing,
    HiddenItem,
    House,
    Measure,
    Opening,
    Outline,
    Partition,
    PlainSurface,
    QuickRoom,
    Room,
    SurfaceChoice,
    SurfaceList,
    UnevenMember,
    Wall,
)
from takeoff.housefile import house_schema, read_catalogue, read_house, write_catalogue, write_house
from takeoff.quantities import UNITS, Amount, Cents
from takeoff.rules import BoardChoice, Rules
from takeoff.units import FOOT, LONGEST, MM, SIXTEENTH, Nm, UnitSystem

# of a ceiling; sides of rooms may be longer, and other lengths longer still
HIGHEST = Nm(40 * FOOT)

NAMES = st.text(
    st.characters(exclude_categories=("C", "Z")) | st.just(" "), min_size=1, max_size=12
).filter(str.strip)
LENGTHS = st.one_of(
    st.integers(1, 3_000).map(lambda count: count * SIXTEENTH),
    st.integers(1, 9_000).map(lambda count: count * MM),
    st.integers(1, HIGHEST),
).map(Nm)
OFFSETS = st.one_of(st.just(Nm(0)), LENGTHS)
PRICES = st.decimals(0, 1_000, places=3, allow_nan=False)
CENTS = st.integers(0, 99_999_999_999).map(Cents)
WEIGHTS = st.decimals("0.001", 9_999, places=3)
AMOUNTS = st.builds(
    Amount,
    value=st.one_of(
        st.fractions(Fraction(1, 1_000), 10_000, max_denominator=10_000),
        st.decimals("0.001", 9_999, places=3).map(Fraction),
    ),
    unit=st.sampled_from(UNITS),
)
FLAGS = st.booleans()
KINDS = ("regular", "green")


def among(kind):
    return st.sampled_from(list(kind))


def several(values, most=2):
    return st.lists(values, max_size=most).map(tuple)


def maybe(values):
    return st.none() | values


def choices():
    return st.builds(
        BoardChoice, kind=st.sampled_from(KINDS), thickness=LENGTHS, width=maybe(LENGTHS)
    )


def framings():
    return st.builds(
        Framing,
        spacing=maybe(st.integers(100, 900).map(lambda count: Nm(count * 10 * MM))),
        first=OFFSETS,
        runs=maybe(among(Runs)),
        member_width=LENGTHS,
        extra=several(OFFSETS),
        missing=several(OFFSETS),
        start_backed=maybe(FLAGS),
        end_backed=maybe(FLAGS),
        substrate=among(Substrate),
        uneven=several(st.builds(UnevenMember, at=OFFSETS, out_by=LENGTHS, remedy=among(Remedy))),
    )


@cache
def sheets(**more):
    sizes = st.tuples(LENGTHS, LENGTHS).map(sorted)
    return sizes.flatmap(
        lambda size: st.builds(
            SheetOnSale,
            board=st.sampled_from(KINDS),
            thickness=LENGTHS,
            width=st.just(size[0]),
            length=st.just(size[1]),
            price=CENTS,
        )
    )


@st.composite
def catalogues(draw):
    boards = tuple(
        draw(
            st.builds(
                BoardKind,
                id=st.just(kind),
                name=NAMES,
                edges=among(BoardEdges),
                cutting=among(Cutting),
                sag_resistant=FLAGS,
                fire_rated=FLAGS,
                weights=st.dictionaries(LENGTHS, WEIGHTS, max_size=2).map(
                    lambda weights: tuple(weights.items())
                ),
            )
        )
        for kind in KINDS
    )
    packs = st.builds(Pack, name=NAMES, holds=AMOUNTS, price=CENTS, weight=maybe(WEIGHTS))
    materials = tuple(
        draw(
            st.builds(
                MaterialOnSale,
                id=st.just(material),
                name=NAMES,
                packs=st.lists(packs, min_size=1, max_size=2).map(tuple),
                cut=FLAGS,
            )
        )
        for material in ("tape", "mud")
    )
    return Catalogue(
        boards=boards,
        sheets=draw(several(sheets())),
        materials=materials,
        currency=draw(st.sampled_from(["USD", "EUR"])),
        sample=draw(FLAGS),
    )


def shapes(index):
    walls = st.lists(
        st.tuples(LENGTHS, st.decimals(-179, 179, places=4)), min_size=3, max_size=6
    ).map(
        lambda given: Outline(
            walls=tuple(
                Wall(id=f"w{number}", name=f"Wall {number}", length=length, turn=turn)
                for number, (length, turn) in enumerate(given)
            )
        )
    )
    plain = st.lists(st.tuples(among(SurfaceKind), LENGTHS, LENGTHS), min_size=1, max_size=4).map(
        lambda given: SurfaceList(
            surfaces=tuple(
                PlainSurface(
                    id=f"w{number}",
                    name=f"{number}",
                    kind=SurfaceKind.WALL if number == 0 else kind,
                    width=width,
                    height=height,
                )
                for number, (kind, width, height) in enumerate(given)
            )
        )
    )
    quick = st.builds(QuickRoom, length=LENGTHS, width=LENGTHS)
    return (
        st.one_of(quick, walls, plain)
        if index == 0
        else st.one_of(quick, walls, plain, st.just("behind"))
    )


@st.composite
def ceilings(draw, wall):
    height, more, far = draw(LENGTHS), draw(st.integers(1, 4_000)), draw(LENGTHS)
    kind = draw(among(CeilingKind))
    if kind is CeilingKind.FLAT or height + far + more * MM > HIGHEST:
        return Ceiling(height=height)
    if kind is CeilingKind.SLOPE:
        return Ceiling(kind=kind, height=height, low_wall=wall, high=Nm(height + more * MM))
    if kind is CeilingKind.VAULT:
        return Ceiling(
            kind=kind,
            height=height,
            low_wall=wall,
            high=Nm(height + more * MM),
            flat_at=draw(LENGTHS),
        )
    return Ceiling(
        kind=kind,
        height=height,
        low_wall=wall,
        high=Nm(height + far + more * MM),
        far_height=draw(maybe(st.just(far))),
        ridge_at=draw(maybe(LENGTHS)),
    )


@st.composite
def openings(draw, wall, identity):
    return Opening(
        id=identity,
        name=draw(NAMES),
        kind=draw(among(OpeningKind)),
        wall=wall,
        left=draw(OFFSETS),
        sill=draw(OFFSETS),
        width=draw(LENGTHS),
        height=draw(LENGTHS),
        given=draw(among(OpeningGiven)),
        edge=draw(among(OpeningEdge)),
    )


@st.composite
def rooms(draw, index):
    identity = f"r{index}"
    shape = draw(shapes(index))
    if shape == "behind":
        shape = BehindPartition(partition=f"p{index}")
    wall = "A" if isinstance(shape, QuickRoom) else "w0"
    ceiling = Ceiling() if isinstance(shape, SurfaceList) else draw(ceilings(wall))
    across = st.builds(
        Measure, origin=st.sampled_from(["left", "right"]), distance=OFFSETS, to=among(MeasureTo)
    )
    up = st.builds(
        Measure, origin=st.sampled_from(["floor", "ceiling"]), distance=OFFSETS, to=among(MeasureTo)
    )
    boxes, items = [], []
    for number in range(draw(st.integers(0, 2))):
        kind = draw(among(CutoutKind))
        height = None if kind in (CutoutKind.ROUND, CutoutKind.PIPE) else draw(LENGTHS)
        boxes.append(
            Cutout(
                id=f"{identity}-c{number}",
                name=draw(NAMES),
                kind=kind,
                surface=wall,
                across=draw(across),
                up=draw(up),
                width=draw(LENGTHS),
                height=height,
            )
        )
        items.append(
            HiddenItem(
                id=f"{identity}-h{number}",
                name=draw(NAMES),
                kind=draw(among(HiddenKind)),
                surface=wall,
                across=draw(across),
                up=draw(up),
                width=draw(LENGTHS),
                height=draw(LENGTHS),
                planned=draw(FLAGS),
            )
        )
    choice = st.builds(
        SurfaceChoice,
        of=st.just(wall),
        action=maybe(among(Action)),
        lining=maybe(OFFSETS),
        board=maybe(choices()),
        orientation=maybe(among(Orientation)),
        joint_mode=maybe(among(JointMode)),
        framing=maybe(framings()),
        rated=maybe(NAMES),
        wet=FLAGS,
        tiled=FLAGS,
    )
    return Room(
        id=identity,
        name=draw(NAMES),
        shape=shape,
        ceiling=ceiling,
        measured_to=draw(among(MeasuredTo)),
        openings=tuple(
            draw(openings(wall, f"{identity}-o{number}"))
            for number in range(draw(st.integers(0, 2)))
        ),
        cutouts=tuple(boxes),
        hidden=tuple(items),
        surfaces=draw(several(choice, 1)),
        wall_framing=draw(maybe(framings())),
        ceiling_board=draw(maybe(choices())),
        finish=draw(
            st.builds(
                Finish, wall_level=st.integers(0, 5), paint_coats=st.integers(0, 5), texture=FLAGS
            )
        ),
        hang_first=draw(several(st.just(wall))),
        longest_board=draw(maybe(LENGTHS)),
        heaviest_lift=draw(maybe(WEIGHTS)),
        pile=draw(st.sampled_from(("", "down", "up"))),
        finished=draw(FLAGS),
    )


@st.composite
def rules(draw):
    gap = draw(OFFSETS)
    owned = tuple(
        draw(
            st.builds(
                OwnedSheet,
                id=st.just(f"s{number}"),
                board=st.sampled_from(KINDS),
                thickness=LENGTHS,
                width=LENGTHS,
                length=LENGTHS,
                count=st.integers(1, 1_000),
                factory_edges=st.integers(0, 2),
            )
        )
        for number in range(draw(st.integers(0, 2)))
    )
    return Rules(
        joint_mode=draw(among(JointMode)),
        ceiling_rows=draw(among(CeilingRows)),
        stagger=draw(OFFSETS),
        seam_price=draw(PRICES),
        floor_gap=gap,
        largest_floor_gap=draw(st.integers(gap, LONGEST).map(Nm)),
        kerf=draw(OFFSETS),
        wall_board=draw(choices()),
        widths=draw(several(LENGTHS)),
        sheets=draw(maybe(several(sheets()))),
        owned=owned,
        longest_board=draw(maybe(LENGTHS)),
        heaviest_lift=draw(maybe(WEIGHTS)),
    )


@st.composite
def stock_of(draw, catalogue):
    """Some of each material in a unit it is sold by, sticks by their length."""
    stock = []
    for material in catalogue.materials:
        unit = draw(st.sampled_from(material.packs)).holds.unit
        amounts = st.fractions(min_value=0, max_value=10**6, max_denominator=1000)
        if material.cut:
            unit = "mm"
            amounts = st.integers(1, 10**9).map(lambda nanometers: Fraction(nanometers, 10**6))
        stock += draw(
            several(
                st.builds(
                    StockItem,
                    material=st.just(material.id),
                    amount=st.builds(Amount, amounts, st.just(unit)),
                )
            )
        )
    return tuple(stock)


@st.composite
def houses(draw):
    catalogue = draw(catalogues())
    count = draw(st.integers(0, 3))
    made = tuple(draw(rooms(index)) for index in range(count))
    partitions = []
    for index, room in enumerate(made):
        if isinstance(room.shape, BehindPartition):
            wall = "A" if isinstance(made[0].shape, QuickRoom) else "w0"
            opening = draw(openings(f"p{index}", f"p{index}-o"))
            partitions.append(
                Partition(
                    id=f"p{index}",
                    name=draw(NAMES),
                    room="r0",
                    wall=wall,
                    at=draw(LENGTHS),
                    side=draw(among(Side)),
                    framed=draw(among(FramedWhen)),
                    openings=draw(st.sampled_from([(), (opening,)])),
                )
            )
    return House(
        id="h",
        name=draw(NAMES),
        units=draw(among(UnitSystem)),
        rooms=made,
        partitions=tuple(partitions),
        rules=draw(rules()),
        catalogue=catalogue,
        stock=draw(stock_of(catalogue)),
        note=draw(st.sampled_from(["", "Measured twice.\n\tOnce by each."])),
    )


VALIDATOR = Draft202012Validator(house_schema())


@settings(max_examples=60)
@given(house=houses())
def test_a_house_is_read_as_it_was_written_and_its_file_fits_the_schema(house):
    text = write_house(house)
    assert read_house(text) == house
    assert write_house(read_house(text)) == text
    VALIDATOR.validate(json.loads(text))


@settings(max_examples=30)
@given(catalogue=catalogues())
def test_a_catalogue_is_read_as_it_was_written(catalogue):
    assert read_catalogue(write_catalogue(catalogue)) == catalogue


WHOLE = House(
    id="whole",
    name="Whole",
    rooms=(
        Room(
            id="den",
            name="Den",
            shape=Outline(
                walls=tuple(Wall(id=letter, name=letter, length=Nm(12 * FOOT)) for letter in "ABCD")
            ),
            ceiling=Ceiling(kind=CeilingKind.GABLE, low_wall="A", high=Nm(12 * FOOT)),
            openings=(
                Opening(
                    id="o",
                    name="O",
                    kind=OpeningKind.DOOR,
                    wall="A",
                    left=FOOT,
                    sill=Nm(0),
                    width=Nm(3 * FOOT),
                    height=Nm(7 * FOOT),
                ),
            ),
            cutouts=(
                Cutout(
                    id="c",
                    name="C",
                    kind=CutoutKind.ROUND,
                    surface="ceiling-near",
                    across=Measure(origin="A", distance=FOOT),
                    up=Measure(origin="B", distance=FOOT),
                    width=Nm(FOOT // 2),
                ),
            ),
            surfaces=(
                SurfaceChoice(
                    of="B",
                    framing=Framing(spacing=Nm(2 * FOOT), extra=(FOOT,)),
                    board=BoardChoice(kind="regular", thickness=Nm(MM * 10)),
                ),
            ),
            heaviest_lift=Decimal(80),
        ),
        Room(id="closet", name="Closet", shape=BehindPartition(partition="p")),
        Room(id="bath", name="Bath", shape=QuickRoom(length=Nm(9 * FOOT), width=Nm(5 * FOOT))),
        Room(
            id="shed",
            name="Shed",
            shape=SurfaceList(
                surfaces=(
                    PlainSurface(id="s", name="S", kind=SurfaceKind.WALL, width=FOOT, height=FOOT),
                )
            ),
        ),
    ),
    partitions=(
        Partition(id="p", name="P", room="den", wall="A", at=Nm(8 * FOOT), side=Side.RIGHT),
    ),
    rules=Rules(
        widths=(Nm(4 * FOOT),),
        sheets=(
            SheetOnSale(
                board="regular",
                thickness=Nm(10 * MM),
                width=Nm(4 * FOOT),
                length=Nm(8 * FOOT),
                price=Cents(999),
            ),
        ),
        owned=(
            OwnedSheet(
                id="own",
                board="regular",
                thickness=Nm(10 * MM),
                width=Nm(4 * FOOT),
                length=Nm(8 * FOOT),
            ),
        ),
    ),
    catalogue=Catalogue(
        boards=(BoardKind(id="regular", name="Regular", weights=((Nm(10 * MM), Decimal("1.2")),)),),
        materials=(
            MaterialOnSale(
                id="tape",
                name="Tape",
                packs=(Pack(name="roll", holds=Amount(Fraction(250), "ft"), price=Cents(399)),),
            ),
        ),
    ),
    stock=(StockItem(material="tape", amount=Amount(Fraction(1, 3), "ft")),),
)
WHOLE_TEXT = write_house(WHOLE)

JSON = st.recursive(
    st.one_of(
        st.none(),
        st.booleans(),
        st.integers(-(10**60), 10**60),
        st.floats(),
        st.text(max_size=8),
        st.sampled_from(
            [
                "A",
                "ceiling",
                "regular",
                "1 ft",
                "den",
                "-1",
                "1e9",
                "0",
                "",
                "mm",
                "walls",
                "\ud800",
                "1/0 gal",
            ]
        ),
    ),
    lambda inner: (
        st.lists(inner, max_size=3)
        | st.dictionaries(
            st.sampled_from(["id", "name", "kind", "walls", "quick", "x", ""]), inner, max_size=3
        )
    ),
    max_leaves=6,
)


def spots(tree, at=()):
    """Every place in a tree, as a path of keys and indices."""
    inside = (
        tree.items()
        if isinstance(tree, dict)
        else enumerate(tree)
        if isinstance(tree, list)
        else ()
    )
    for key, value in inside:
        yield (*at, key)
        yield from spots(value, (*at, key))


SPOTS = tuple(spots(json.loads(WHOLE_TEXT)))


def changed(tree, spot, how, value):
    for key in spot[:-1]:
        if not (isinstance(tree, dict) and key in tree) and not (
            isinstance(tree, list) and isinstance(key, int) and key < len(tree)
        ):
            return
        tree = tree[key]
    last = spot[-1]
    if isinstance(tree, dict) and last in tree:
        if how == "delete":
            del tree[last]
        elif how == "rename":
            tree[str(value)[:20]] = tree.pop(last)
        else:
            tree[last] = value
    elif isinstance(tree, list) and isinstance(last, int) and last < len(tree):
        if how == "delete":
            del tree[last]
        elif how == "repeat":
            tree.insert(last, deepcopy(tree[last]))
        else:
            tree[last] = value


def only_a_house_or_a_refusal(text):
    try:
        house = read_house(text)
    except HouseFileError as error:
        refused = error
    else:
        assert read_house(write_house(house)) == house
        return
    assert refused.problems
    assert all(problem.message for problem in refused.problems)
    str(refused).encode()


@settings(max_examples=60)
@given(
    changes=st.lists(
        st.tuples(
            st.sampled_from(SPOTS), st.sampled_from(["delete", "replace", "repeat", "rename"]), JSON
        ),
        min_size=1,
        max_size=3,
    )
)
def test_a_house_file_changed_anywhere_is_a_house_or_refused(changes):
    tree = json.loads(WHOLE_TEXT)
    for spot, how, value in changes:
        changed(tree, spot, how, value)
    only_a_house_or_a_refusal(json.dumps(tree))


@settings(max_examples=60)
@given(
    at=st.integers(0, len(WHOLE_TEXT)),
    length=st.integers(0, 30),
    new=st.text(max_size=10) | st.sampled_from(list('{}[]",:')),
)
def test_a_text_cut_or_mistyped_anywhere_is_a_house_or_refused(at, length, new):
    only_a_house_or_a_refusal(WHOLE_TEXT[:at] + new + WHOLE_TEXT[at + length :])


@settings(max_examples=60)
@given(source=JSON.map(json.dumps) | st.text(max_size=60) | st.binary(max_size=60))
def test_any_json_text_or_bytes_are_a_house_or_refused(source):
    only_a_house_or_a_refusal(source)
