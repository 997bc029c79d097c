"""Cutting sheets: whole-width pieces, one rip, kerfs, owned sheets first."""

from __future__ import annotations

from takeoff.catalogue import OwnedSheet
from takeoff.cutting.sheets import CutPiece, Cutter, Sale, emptied, pack
from takeoff.quantities import Cents
from takeoff.units import INCH, Nm

KERF = Nm(INCH // 8)
PRICES = ((96, 1200), (120, 1500), (144, 1800))


def inch(value: float) -> Nm:
    return Nm(round(value * 8) * INCH // 8)


def sale(*, kerf: Nm = Nm(0), owned: tuple[OwnedSheet, ...] = (), prices=PRICES) -> Sale:
    return Sale(inch(48), [(inch(length), Cents(price)) for length, price in prices], kerf, owned)


def pieces(stock: Sale, *sizes: tuple[float, float], room: int = 0) -> list[CutPiece]:
    return [
        CutPiece(
            code=f"{room}-{number}",
            length=inch(length),
            width=inch(width),
            factory_edges=2 if width == 48 else 1,
            room=room,
            sale=stock,
        )
        for number, (length, width) in enumerate(sizes)
    ]


def owned(width: float, length: float, *, count: int = 1, edges: int = 2) -> OwnedSheet:
    return OwnedSheet(
        id="offcut",
        board="regular",
        thickness=Nm(INCH // 2),
        width=inch(width),
        length=inch(length),
        count=count,
        factory_edges=edges,
    )


def cost(cuts) -> int:
    assert cuts is not None
    return sum(cut.price for cut in cuts)


def test_pieces_that_fill_a_sheet_take_one():
    (cut,) = pack(pieces(sale(), (48, 48), (96, 48)), kerf=Nm(0))
    assert cut.length == inch(144)


def test_kerf_makes_a_full_sheet_too_short():
    exact = pieces(sale(kerf=KERF), (72, 48), (72, 48))
    assert cost(pack(exact, kerf=KERF)) == 2400
    shy = pieces(sale(kerf=KERF), (72, 48), (71.875, 48))
    assert cost(pack(shy, kerf=KERF)) == 1800


def test_one_rip_gives_two_strips_side_by_side():
    (cut,) = pack(pieces(sale(), (96, 20), (96, 28)), kerf=Nm(0))
    assert [len(strip) for strip in (cut.whole, cut.first, cut.second)] == [0, 1, 1]


def test_kerf_is_lost_in_the_rip():
    assert len(pack(pieces(sale(kerf=KERF), (96, 20), (96, 28)), kerf=KERF)) == 2
    assert len(pack(pieces(sale(kerf=KERF), (96, 20), (96, 27.875)), kerf=KERF)) == 1


def test_three_strips_do_not_lie_side_by_side():
    assert cost(pack(pieces(sale(), (96, 16), (96, 16), (96, 16)), kerf=Nm(0))) == 2400


def test_narrower_piece_is_trimmed_from_a_strip():
    (cut,) = pack(pieces(sale(), (48, 30), (48, 20), (96, 18)), kerf=Nm(0))
    assert {piece.width for piece in cut.first} == {inch(30), inch(20)}


def test_rip_comes_after_whole_width_pieces():
    (cut,) = pack(pieces(sale(), (96, 48), (48, 20), (48, 20)), kerf=Nm(0))
    assert cut.length == inch(144)
    assert len(cut.whole) == 1


def test_owned_sheet_comes_first_and_only_as_often_as_there_is_one():
    spare = owned(48, 96)
    cuts = pack(pieces(sale(owned=(spare,)), (96, 48), (96, 48)), kerf=Nm(0), owned=(spare,))
    assert sorted(cut.price for cut in cuts) == [0, 1200]


def test_narrow_offcut_with_one_factory_edge_gives_one_strip():
    spare = owned(30, 96, edges=1)
    cuts = pack(pieces(sale(owned=(spare,)), (96, 14), (96, 14)), kerf=Nm(0), owned=(spare,))
    assert cost(cuts) == 1200


def test_offcut_without_factory_edges_serves_no_ripped_row():
    spare = owned(30, 96, edges=0)
    cuts = pack(pieces(sale(owned=(spare,)), (90, 14)), kerf=Nm(0), owned=(spare,))
    assert cost(cuts) == 1200


def test_owned_sheet_stays_out_of_a_room_it_does_not_get_into():
    spare = owned(48, 96)
    assert cost(pack(pieces(sale(), (96, 48)), kerf=Nm(0), owned=(spare,))) == 1200


def test_rooms_share_sheets_only_where_offcuts_are_carried():
    stock = sale()
    both = pieces(stock, (48, 48)) + pieces(stock, (48, 48), room=1)
    assert cost(pack(both, kerf=Nm(0))) == 1200
    assert cost(pack(both, kerf=Nm(0), carry=False)) == 2400


def test_sheet_shared_by_rooms_is_one_that_gets_into_the_first():
    short, long = sale(prices=PRICES[:1]), sale()
    first, later = pieces(short, (48, 48)), pieces(long, (96, 48), room=1)
    assert sorted(cut.length for cut in pack(first + later, kerf=Nm(0))) == [inch(96), inch(96)]


def test_piece_longer_than_any_sheet_is_not_packed():
    assert pack(pieces(sale(), (150, 48)), kerf=Nm(0)) is None


def test_longer_sheet_at_no_more_money_takes_the_shorter_ones_place():
    (cut,) = pack(pieces(sale(prices=((96, 1500), (120, 1500))), (90, 48)), kerf=Nm(0))
    assert cut.length == inch(120)


def test_taking_pieces_off_gives_back_money_and_owned_sheets():
    spare = owned(48, 96)
    stock = sale(owned=(spare,))
    cutter = Cutter(kerf=Nm(0), owned=(spare,))
    wanted = pieces(stock, (96, 48), (48, 48), (96, 48))
    full = cutter.put_all(cutter.empty(), wanted)
    bare = cutter.take(full, {piece.code for piece in wanted})
    assert bare == cutter.empty()
    assert cutter.take(full, {wanted[2].code}).price == 1200


def test_emptying_a_sheet_saves_it_where_others_have_room():
    cutter = Cutter(kerf=Nm(0))
    long = cutter.put_all(cutter.empty(), pieces(sale(prices=((144, 1800),)), (72, 48), (48, 48)))
    wasteful = cutter.put(
        long._replace(loads=()), pieces(sale(prices=((144, 1800),)), (24, 48), room=1)[0]
    )
    both = wasteful._replace(loads=long.loads + wasteful.loads)
    assert emptied(cutter, both).price == 1800
