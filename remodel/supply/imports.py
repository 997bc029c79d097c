"""A catalogue and stock into rows."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence

from django.utils import timezone

from remodel.bridge.records import Catalogue, StockItem
from remodel.bridge.records import OwnedSheet as OwnedValue
from remodel.history.services import By, create, create_all, recorded
from remodel.house.models import House
from remodel.supply.ledger import move
from remodel.supply.models import BoardKind, Material, Movement, OwnedSheet, Pack, SheetOnSale

__all__ = ["catalogue_import", "stock_import"]


@recorded("brought in what is on sale")
def catalogue_import(
    *, by: By, house: House, catalogue: Catalogue, owned: Sequence[OwnedValue] = ()
) -> House:
    """Make rows of a catalogue. Its prices count as confirmed only where it says that they are no
    samples."""
    confirmed = None if catalogue.sample else timezone.now()
    create_all(
        BoardKind(
            house=house,
            key=board.id,
            name=board.name,
            position=index,
            edges=board.edges.value,
            cutting=board.cutting.value,
            sag_resistant=board.sag_resistant,
            tile_backer=board.tile_backer,
            moisture_resistant=board.moisture_resistant,
            fire_rated=board.fire_rated,
            weights=[[int(thickness), format(psf, "f")] for thickness, psf in board.weights],
        )
        for index, board in enumerate(catalogue.boards)
    )
    create_all(
        SheetOnSale(
            house=house,
            board=sheet.board,
            thickness=sheet.thickness,
            width=sheet.width,
            length=sheet.length,
            price=sheet.price,
            confirmed_at=confirmed,
            position=index,
        )
        for index, sheet in enumerate(catalogue.sheets)
    )
    for index, material_value in enumerate(catalogue.materials):
        material = create(
            Material(
                house=house,
                key=material_value.id,
                name=material_value.name,
                cut=material_value.cut,
                position=index,
            )
        )
        create_all(
            Pack(
                material=material,
                name=pack.name,
                numerator=pack.holds.value.numerator,
                denominator=pack.holds.value.denominator,
                unit=pack.holds.unit,
                price=pack.price,
                weight=pack.weight,
                confirmed_at=confirmed,
                position=place,
            )
            for place, pack in enumerate(material_value.packs)
        )
    create_all(
        OwnedSheet(
            house=house,
            key=sheet.id,
            position=index,
            board=sheet.board,
            thickness=sheet.thickness,
            width=sheet.width,
            length=sheet.length,
            count=sheet.count,
            factory_edges=sheet.factory_edges,
        )
        for index, sheet in enumerate(owned)
    )
    return house


@recorded("brought in what is on hand")
def stock_import(*, by: By, house: House, stock: Sequence[StockItem]) -> House:
    """Write what is on hand into the ledger as found; what is there more than once, like sticks of
    one length, in one movement."""
    for item, pieces in Counter(stock).items():
        if item.amount.value:
            move(
                by=by,
                house=house,
                item=item.material,
                kind=Movement.Kind.FOUND,
                amount=item.amount,
                pieces=pieces,
            )
    return house
