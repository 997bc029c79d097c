"""A catalogue and stock into rows."""

from __future__ import annotations

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
    """Make rows of a catalogue; its prices count as confirmed only where it says they are no
    samples."""
    confirmed = None if catalogue.sample else timezone.now()
    create_all(
        BoardKind(
            house=house,
            key=each.id,
            name=each.name,
            position=index,
            edges=each.edges.value,
            cutting=each.cutting.value,
            sag_resistant=each.sag_resistant,
            tile_backer=each.tile_backer,
            moisture_resistant=each.moisture_resistant,
            fire_rated=each.fire_rated,
            weights=[[int(thickness), format(psf, "f")] for thickness, psf in each.weights],
        )
        for index, each in enumerate(catalogue.boards)
    )
    create_all(
        SheetOnSale(
            house=house,
            board=each.board,
            thickness=each.thickness,
            width=each.width,
            length=each.length,
            price=each.price,
            confirmed_at=confirmed,
            position=index,
        )
        for index, each in enumerate(catalogue.sheets)
    )
    for index, each in enumerate(catalogue.materials):
        material = create(
            Material(house=house, key=each.id, name=each.name, cut=each.cut, position=index)
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
            for place, pack in enumerate(each.packs)
        )
    create_all(
        OwnedSheet(
            house=house,
            key=each.id,
            position=index,
            board=each.board,
            thickness=each.thickness,
            width=each.width,
            length=each.length,
            count=each.count,
            factory_edges=each.factory_edges,
        )
        for index, each in enumerate(owned)
    )
    return house


@recorded("brought in what is on hand")
def stock_import(*, by: By, house: House, stock: Sequence[StockItem]) -> House:
    """Write what is on hand into the ledger as counted."""
    for each in stock:
        move(by=by, house=house, item=each.material, kind=Movement.Kind.COUNTED, amount=each.amount)
    return house
