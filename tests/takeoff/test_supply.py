from __future__ import annotations

from decimal import Decimal
from fractions import Fraction
from itertools import product

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from takeoff.catalogue import BoardKind, Catalogue, MaterialOnSale, Pack, SheetOnSale, StockItem
from takeoff.needs.need import Need, Phase, Reason
from takeoff.packs import cheapest_mix
from takeoff.quantities import Amount, Cents
from takeoff.supply import order
from takeoff.units import FOOT, INCH, Nm

KERF = Nm(INCH // 8)


def amount(value, unit: str) -> Amount:
    return Amount(Fraction(value), unit)


def pack(name: str, holds, unit: str, price: int, weight: str | None = "1") -> Pack:
    return Pack(
        name=name, holds=amount(holds, unit), price=Cents(price), weight=weight and Decimal(weight)
    )


PAINT = MaterialOnSale(
    id="paint",
    name="Paint",
    packs=(
        pack("1 qt", "1/4", "gal", 1500, "3"),
        pack("1 gal", 1, "gal", 3600, "11"),
        pack("5 gal", 5, "gal", 16000),
    ),
)
SCREWS = MaterialOnSale(
    id="screws",
    name="Screws",
    packs=(pack("1 lb", 238, "each", 650), pack("5 lb", 1190, "each", 2400)),
)
STUDS = MaterialOnSale(
    id="2x4",
    name="2x4",
    packs=(pack("8 ft", 8, "ft", 358, "9"), pack("10 ft", 10, "ft", 528, "12")),
    cut=True,
)
UNWEIGHED = MaterialOnSale(id="clips", name="Clips", packs=(pack("25", 25, "each", 640, None),))
HALF = Nm(INCH // 2)
SHEET = SheetOnSale(
    board="regular", thickness=HALF, width=Nm(4 * FOOT), length=Nm(12 * FOOT), price=Cents(2049)
)
SHOP = Catalogue(
    boards=(BoardKind(id="regular", name="Regular board", weights=((HALF, Decimal("1.6")),)),),
    sheets=(SHEET,),
    materials=(PAINT, SCREWS, STUDS, UNWEIGHED),
)


def need(
    material: str,
    value,
    unit: str = "each",
    *,
    phase: Phase = Phase.HANGING,
    room: str = "a",
    lengths=(),
) -> Need:
    of = amount(value, unit)
    return Need(
        phase=phase,
        room=room,
        material=material,
        amount=of,
        reasons=(Reason(text="r", amount=of),),
        lengths=lengths,
    )


def sticks(*feet, phase: Phase = Phase.FRAMING) -> Need:
    lengths = tuple(Nm(int(Fraction(length) * FOOT)) for length in feet)
    return need("2x4", Fraction(sum(lengths), FOOT), "ft", phase=phase, lengths=lengths)


def bought(*needs: Need, stock=(), **given):
    return order(needs, catalogue=SHOP, stock=stock, kerf=KERF, **given)


def counts(line) -> dict[str, int]:
    return {pack.name: pack.count for pack in line.packs}


def test_bead_is_snipped_so_two_half_sticks_come_out_of_one():
    bead = MaterialOnSale(
        id="corner-bead",
        name="Bead",
        packs=(pack("8 ft", 8, "ft", 328), pack("10 ft", 10, "ft", 438)),
        cut=True,
    )
    halves = need("corner-bead", 8, "ft", lengths=(Nm(4 * FOOT), Nm(4 * FOOT)))
    (line,) = order([halves], catalogue=Catalogue(materials=(bead,)), kerf=KERF).lines
    assert counts(line) == {"8 ft": 1}


def test_needs_of_all_rooms_are_added_before_packs_are_counted():
    (line,) = bought(need("screws", 100), need("screws", 100, room="b")).lines
    assert line.need.value == 200
    assert counts(line) == {"1 lb": 1}


def test_large_box_is_bought_where_it_is_cheaper_than_the_small_ones():
    (line,) = bought(need("screws", 4 * 238)).lines
    assert counts(line) == {"5 lb": 1}
    (line,) = bought(need("screws", 3 * 238)).lines
    assert counts(line) == {"1 lb": 3}


def test_quart_tops_up_a_gallon():
    (line,) = bought(need("paint", "1.2", "gal")).lines
    assert counts(line) == {"1 qt": 1, "1 gal": 1}
    assert line.cost == 5100
    assert line.weight == 14
    assert line.left_over == amount("0.05", "gal")


def test_need_that_packs_hold_exactly_leaves_nothing():
    (line,) = bought(need("screws", 1190)).lines
    assert (counts(line), line.left_over.value) == ({"5 lb": 1}, 0)


def test_stock_is_taken_off():
    (line,) = bought(
        need("screws", 1300), stock=[StockItem(material="screws", amount=amount(200, "each"))]
    ).lines
    assert line.on_hand.value == 200
    assert counts(line) == {"5 lb": 1}
    assert line.left_over.value == 90


def test_enough_on_hand_buys_nothing():
    (line,) = bought(
        need("screws", 150), stock=[StockItem(material="screws", amount=amount(200, "each"))]
    ).lines
    assert (line.packs, line.cost, line.left_over.value) == ((), 0, 50)


def test_stock_in_another_unit_is_converted():
    (line,) = bought(
        need("paint", 1, "gal"), stock=[StockItem(material="paint", amount=amount(2, "qt"))]
    ).lines
    assert line.on_hand == amount("1/2", "gal")


def test_what_one_phase_leaves_over_is_on_hand_for_the_next():
    first, second = bought(need("screws", 200, phase=Phase.FRAMING), need("screws", 30)).lines
    assert (first.left_over.value, second.on_hand.value) == (38, 38)
    assert second.packs == ()


def test_lines_follow_the_order_of_the_work():
    lines = bought(
        need("paint", 1, "gal", phase=Phase.FINISHING), need("screws", 1), sticks(3)
    ).lines
    assert [line.phase for line in lines] == [Phase.FRAMING, Phase.HANGING, Phase.FINISHING]


def test_only_the_phases_asked_for_are_ordered():
    lines = bought(sticks(3), need("screws", 1), phases={Phase.HANGING}).lines
    assert [line.material for line in lines] == ["screws"]


def test_sticks_are_cut_out_of_whole_ones_and_never_spliced():
    # Three pieces of 5 ft are 15 ft of lumber, and still take three sticks of 8 ft, or one of 10
    # and one of 8.
    (line,) = bought(sticks(5, 5, 5)).lines
    assert counts(line) == {"8 ft": 3}
    (line,) = bought(sticks("4.9", "4.9", "4.9")).lines
    assert counts(line) == {"10 ft": 1, "8 ft": 1}
    assert line.bound <= line.cost == 886


def test_stick_left_over_is_what_is_not_in_the_pieces():
    (line,) = bought(sticks(5)).lines
    assert line.left_over == amount(3, "ft")


def test_sticks_on_hand_are_cut_first():
    stock = [
        StockItem(material="2x4", amount=amount(8, "ft")),
        StockItem(material="2x4", amount=amount(6, "ft")),
    ]
    (line,) = bought(sticks(8, 7), stock=stock).lines
    assert line.on_hand.value == 14
    assert counts(line) == {"8 ft": 1}
    assert line.left_over.value == 7  # the untouched 6 ft and a foot of offcut


def test_stick_used_in_one_phase_is_gone_in_the_next():
    stock = [StockItem(material="2x4", amount=amount(8, "ft"))]
    first, second = bought(sticks(8), sticks(8, phase=Phase.PARTITIONS), stock=stock).lines
    assert first.packs == ()
    assert counts(second) == {"8 ft": 1}


def test_stock_of_sticks_by_count_is_refused_with_an_example():
    supply = bought(sticks(3), stock=[StockItem(material="2x4", amount=amount(3, "each"))])
    assert "stick by stick" in supply.unmet[0]


def test_piece_longer_than_any_stick_is_said_and_the_rest_is_bought():
    supply = bought(sticks(12), need("screws", 1))
    assert "without a splice" in supply.unmet[0]
    assert [line.unmet == "" for line in supply.lines] == [False, True]
    assert supply.cost == 650


def test_material_that_is_not_on_sale_is_said():
    supply = bought(need("plaster", 3))
    assert "plaster" in supply.unmet[0]
    assert supply.lines[0].packs == ()


def test_amount_no_pack_can_hold_is_said():
    assert "lb" in bought(need("paint", 3, "lb")).unmet[0]


def test_sheets_are_priced_weighed_and_measured():
    (line,) = bought(need("sheet-regular-0.5x48x144in", 3)).lines
    assert line.cost == 3 * 2049
    assert line.weight == Decimal("230.4")
    assert line.volume == amount(6, "cu ft")
    assert line.name == "Regular board, 1/2 in, 48 in x 12 ft"


def test_sheets_of_the_rules_replace_the_catalogues():
    dearer = SheetOnSale(
        board="regular", thickness=HALF, width=SHEET.width, length=SHEET.length, price=Cents(3000)
    )
    (line,) = bought(need("sheet-regular-0.5x48x144in", 1), sheets=[dearer]).lines
    assert line.cost == 3000


def test_weight_that_is_not_known_is_not_guessed():
    supply = bought(need("clips", 3), need("screws", 3))
    assert {line.material: line.weight for line in supply.lines} == {
        "clips": None,
        "screws": Decimal(1),
    }
    assert supply.weight == Decimal(1)


def test_paint_takes_room_and_screws_are_not_measured():
    volumes = {
        line.material: line.volume
        for line in bought(need("screws", 3), need("paint", 1, "gal")).lines
    }
    assert volumes == {"screws": None, "paint": amount(Fraction(231, 1728), "cu ft")}


def test_lines_of_a_phase_stand_as_the_catalogue_does_whatever_was_needed_first():
    assert (
        bought(need("paint", 1, "gal"), need("screws", 3)).lines
        == bought(need("screws", 3), need("paint", 1, "gal")).lines
    )


def test_lumber_takes_its_actual_section():
    (line,) = bought(sticks(8)).lines
    assert line.volume == amount(8 * Fraction(3, 2) * Fraction(7, 2) / 144, "cu ft")


def test_totals_are_the_lines():
    supply = bought(need("screws", 3), need("paint", 1, "gal"))
    assert supply.cost == sum(line.cost for line in supply.lines) == 650 + 3600


def test_sample_prices_are_said_until_the_person_has_their_own():
    own = Catalogue(materials=(SCREWS,), sample=False)
    assert bought(need("screws", 1)).sample_prices
    assert not order([need("screws", 1)], catalogue=own, kerf=KERF).sample_prices


def test_nothing_needed_is_an_empty_list():
    assert bought().lines == ()


def mix(wanted, *packs: tuple[int, int]) -> tuple[int, ...]:
    made = [pack(str(i), holds, "each", price) for i, (holds, price) in enumerate(packs)]
    return cheapest_mix(amount(wanted, "each"), made)


def test_of_equally_cheap_mixes_the_one_with_less_left_over_is_taken():
    assert mix(10, (10, 100), (12, 100)) == (1, 0)


def test_of_equal_mixes_the_one_with_fewer_packs_is_taken():
    assert mix(10, (5, 50), (10, 100)) == (0, 1)


def test_free_packs_are_taken():
    assert mix(10, (4, 0), (10, 100)) == (3, 0)


@pytest.mark.parametrize("wanted", [0, -5])
def test_no_need_takes_no_packs(wanted):
    assert mix(wanted, (4, 10)) == (0,)


@settings(max_examples=60)
@given(
    wanted=st.integers(1, 60),
    packs=st.lists(st.tuples(st.integers(1, 15), st.integers(0, 40)), min_size=1, max_size=3),
)
def test_mix_is_as_cheap_as_trying_every_mix(wanted, packs):
    counts = mix(wanted, *packs)
    held = sum(n * holds for n, (holds, _) in zip(counts, packs, strict=True))
    cost = sum(n * price for n, (_, price) in zip(counts, packs, strict=True))
    tried = [
        (
            sum(n * price for n, (_, price) in zip(tried_counts, packs, strict=True)),
            sum(n * holds for n, (holds, _) in zip(tried_counts, packs, strict=True)) - wanted,
        )
        for tried_counts in product(*(range(-(-wanted // holds) + 1) for holds, _ in packs))
    ]
    assert held >= wanted
    assert (cost, held - wanted) == min(trial for trial in tried if trial[1] >= 0)


def test_what_is_coming_is_not_bought_again():
    coming = (StockItem(material="paint", amount=amount(1, "gal")),)
    (line,) = order([need("paint", 1, "gal")], catalogue=SHOP, coming=coming, kerf=KERF).lines
    assert (line.on_hand, line.coming, line.packs) == (amount(0, "gal"), amount(1, "gal"), ())


def test_what_is_coming_and_too_little_leaves_the_rest_to_buy():
    coming = (StockItem(material="paint", amount=amount(1, "gal")),)
    (line,) = order([need("paint", 2, "gal")], catalogue=SHOP, coming=coming, kerf=KERF).lines
    assert [(pack.name, pack.count) for pack in line.packs] == [("1 gal", 1)]


def test_what_is_on_hand_goes_before_what_is_coming():
    """The earlier phase takes the pail that is here; the one that is coming is left for the later
    phase."""
    pails = (StockItem(material="paint", amount=amount(1, "gal")),)
    needs = [need("paint", 1, "gal"), need("paint", 1, "gal", phase=Phase.FINISHING)]
    first, second = order(needs, catalogue=SHOP, stock=pails, coming=pails, kerf=KERF).lines
    assert (first.on_hand.value, first.coming.value) == (1, 1)
    assert (second.on_hand.value, second.coming.value) == (0, 1)
    assert not first.packs
    assert not second.packs


def test_sticks_that_are_coming_are_cut_before_any_is_bought():
    coming = (StockItem(material="2x4", amount=amount(8, "ft")),) * 2
    (line,) = order([sticks(8, 8, 8)], catalogue=SHOP, coming=coming, kerf=KERF).lines
    assert (line.on_hand.value, line.coming.value) == (0, 16)
    assert [(pack.name, pack.count) for pack in line.packs] == [("8 ft", 1)]


def test_stick_that_was_coming_is_used_up_by_the_phase_that_cuts_it():
    coming = (StockItem(material="2x4", amount=amount(8, "ft")),)
    needs = [sticks(8), sticks(8, phase=Phase.PARTITIONS)]
    first, second = order(needs, catalogue=SHOP, coming=coming, kerf=KERF).lines
    assert not first.packs
    assert (second.coming.value, second.packs[0].count) == (0, 1)
