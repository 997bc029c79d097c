"""The cut list: which stick, which cuts, what is left."""

from fractions import Fraction

from takeoff.catalogue import Catalogue, MaterialOnSale, Pack, StockItem
from takeoff.cut_list import CutStick, cut_lists
from takeoff.framing.partition import partition_frame
from takeoff.needs.need import Need, Phase, Reason
from takeoff.needs.partitions import needs
from takeoff.quantities import Amount, Cents
from takeoff.rules import Rules
from takeoff.units import FOOT, INCH, Nm, UnitSystem
from tests.standards.test_stud_counts import feet, partition

EIGHTH = Nm(INCH // 8)
SHELF = Catalogue(
    materials=(
        MaterialOnSale(
            id="2x4",
            name="2x4 lumber",
            packs=tuple(
                Pack(name=f"{long} ft", holds=Amount(Fraction(long), "ft"), price=Cents(price))
                for long, price in ((8, 400), (10, 520), (12, 650))
            ),
            cut=True,
        ),
    )
)


def of(*reasons: tuple[str, tuple[float, ...]], room: str = "den") -> Need:
    made = tuple(
        Reason(
            text=f"{piece}, because",
            piece=piece,
            amount=Amount(Fraction(sum(map(Fraction, inches)), 12), "ft"),
            lengths=tuple(Nm(round(long * INCH)) for long in inches),
        )
        for piece, inches in reasons
    )
    lengths = sorted((long for reason in made for long in reason.lengths), reverse=True)
    return Need(
        phase=Phase.PARTITIONS,
        room=room,
        material="2x4",
        amount=Amount(Fraction(sum(lengths), FOOT), "ft"),
        reasons=made,
        lengths=tuple(lengths),
    )


def cut(*wanted: Need, stock=()) -> list[CutStick]:
    (made,) = cut_lists(wanted, catalogue=SHELF, kerf=EIGHTH, stock=stock)
    assert made.unmet == ""
    return list(made.sticks)


def test_stick_says_what_is_cut_from_it_and_what_is_left():
    # 60 + 1/8 + 30 + 1/8 = 90-1/4 of 96 in: 5-3/4 is left. 8 ft is the cheapest that holds both.
    (stick,) = cut(of(("plate", (60,)), ("stud", (30,))))
    assert [(piece.length / INCH, piece.what) for piece in stick.pieces] == [
        (60, "plate"),
        (30, "stud"),
    ]
    assert (stick.length, stick.rest) == (8 * FOOT, Nm(round(5.75 * INCH)))


def test_pieces_that_use_a_stick_up_leave_nothing():
    # 48 + 1/8 + 47-7/8 = 96: the last piece needs no cut at its end.
    (stick,) = cut(of(("a", (48,)), ("b", (47.875,))))
    assert (stick.length, stick.rest) == (8 * FOOT, 0)


def test_stick_at_hand_comes_first_and_is_used_once():
    at_hand = (StockItem(material="2x4", amount=Amount(Fraction(8), "ft")),)
    first, second = cut(of(("stud", (90, 90))), stock=at_hand)
    assert (first.owned, second.owned) == (True, False)
    assert [stick.number for stick in (first, second)] == [1, 2]


def test_rooms_together_are_cut_from_the_same_sticks():
    (stick,) = cut(of(("stud", (60,))), of(("block", (30,)), room="hall"))
    assert [piece.what for piece in stick.pieces] == ["stud", "block"]


def test_piece_longer_than_any_stick_is_told_with_the_cure():
    (made,) = cut_lists([of(("plate", (150,)))], catalogue=SHELF, kerf=EIGHTH)
    assert made.sticks == ()
    assert "2x4 lumber: A piece 12' 6\" long cannot be cut without a splice" in made.unmet


def test_every_stick_of_a_frame_is_cut_once_and_called_by_its_role():
    frame = partition_frame(partition(feet(5), feet(8)), Rules())
    (made,) = cut_lists(needs(frame, units=UnitSystem.INCH), catalogue=SHELF, kerf=EIGHTH)
    pieces = sorted(
        (piece.length / INCH, piece.what) for stick in made.sticks for piece in stick.pieces
    )
    # 60 in at 16 on center: 4 spaces and the last stud; 96 - 3 = 93
    assert pieces == [
        (60, "Partition, sole plate"),
        (60, "Partition, top plate"),
        *[(93, "Partition, stud")] * 5,
    ]
    assert [len(sticks) for sticks in made.alike] == [1, 5]


def test_stick_bought_is_as_long_as_its_pieces_its_kerfs_and_its_rest():
    wanted = of(("stud", (92.25,) * 7), ("cripple", (12, 12, 9.5)), ("plate", (118.5,)))
    for stick in cut(wanted):
        cuts = len(stick.pieces) if stick.rest else len(stick.pieces) - 1
        total = sum(piece.length for piece in stick.pieces) + cuts * EIGHTH + stick.rest
        assert total == stick.length
