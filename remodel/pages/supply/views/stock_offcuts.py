"""Offcuts that are here: shown with the stock, changed, gone, removed."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from uuid import UUID, uuid4

from django.contrib import messages
from django.http import HttpResponse
from django.views.decorators.http import require_http_methods, require_POST

from remodel.bridge import lengths
from remodel.bridge.supply import sheet_sizes
from remodel.history.errors import Refused
from remodel.house.models import House
from remodel.pages.editing import Seen, by_of, edit, posted, removed, saved_and_go
from remodel.pages.supply.forms_stock import BoardSize, OffcutForm, board_key
from remodel.people.http import SiteRequest
from remodel.people.queries import row_for
from remodel.supply import services
from remodel.supply.models import OwnedSheet, SheetOnSale
from remodel.web.forms import HouseForm
from remodel.web.responses import go

__all__ = ["boards_on_sale", "offcut_change", "offcut_gone", "offcut_remove", "offcuts_shown"]

_EDGES = ("no factory edge", "1 factory edge", "2 factory edges")


@dataclass(frozen=True, slots=True, kw_only=True)
class OffcutShown:
    """One offcut in words. `key` makes a press of "Gone" count once."""

    offcut: OwnedSheet
    board: str
    size: str
    edges: str
    key: str


def offcuts_shown(house: House) -> list[OffcutShown]:
    """The offcuts that are here, by board and from large to small."""
    kinds = {kind.key: (kind.position, kind.name) for kind in house.board_kinds.all()}
    here = [offcut for offcut in house.owned_sheets.all() if offcut.here]
    here.sort(
        key=lambda offcut: (
            kinds.get(offcut.board, (len(kinds), "")),
            -offcut.thickness,
            -offcut.width * offcut.length,
            offcut.key,
        )
    )
    key = str(uuid4())
    return [
        OffcutShown(
            offcut=offcut,
            board=_board_name(
                kinds.get(offcut.board, (0, offcut.board))[1],
                (offcut.thickness, offcut.width, offcut.length),
            ),
            size=_size(offcut, house.units),
            edges=_EDGES[offcut.factory_edges],
            key=key,
        )
        for offcut in here
    ]


def _size(offcut: OwnedSheet, units: str) -> str:
    """Width by length, as read off a tape."""
    width, length = (lengths.tape_text(nm, units) for nm in (offcut.width, offcut.length))
    return f"{width} × {length}"


def _board_name(name: str, sizes: tuple[int, int, int]) -> str:
    thickness, _ = sheet_sizes(*sizes)
    return f"{name}, {thickness}"


def boards_on_sale(
    house: House, *, also: OwnedSheet | None = None
) -> tuple[list[tuple[str, str]], list[BoardSize]]:
    """The boards on sale with their thickness, as choices; and every sheet of them. The board of
    `also` is among the choices in any case."""
    kinds = {kind.key: kind.name for kind in house.board_kinds.all()}
    sheets: list[BoardSize] = [
        (sheet.board, sheet.thickness, sheet.width, sheet.length)
        for sheet in SheetOnSale.objects.filter(house=house)
    ]
    sizes: Sequence[BoardSize] = sheets
    if also is not None:
        sizes = [*sheets, (also.board, also.thickness, also.width, also.length)]
    order = {key: place for place, key in enumerate(kinds)}
    choices = {
        board_key(board, thickness): _board_name(
            kinds.get(board, board), (thickness, width, length)
        )
        for board, thickness, width, length in sorted(
            sizes, key=lambda size: (order.get(size[0], len(order)), -size[1])
        )
    }
    return list(choices.items()), sheets


def _offcut(request: SiteRequest, offcut_id: UUID) -> OwnedSheet:
    rows = OwnedSheet.objects.select_related("house")
    return row_for(request.person, rows, offcut_id, through="house", write=True)


@require_http_methods(["GET", "POST"])
def offcut_change(request: SiteRequest, offcut_id: UUID) -> HttpResponse:
    """Correct an offcut: its size, its edges, how many, where it leans."""
    offcut = _offcut(request, offcut_id)
    house = offcut.house
    boards, sheets = boards_on_sale(house, also=offcut)
    form = OffcutForm(
        posted(request),
        boards=boards,
        sheets=sheets,
        offcut=offcut,
        units=house.units,
        seen=Seen.of(offcut),
    )
    return edit(
        request,
        form,
        "supply/stock_offcut.html",
        {"house": house, "offcut": offcut, "size": _size(offcut, house.units)},
        write=lambda by: services.owned_sheet_change(by=by, sheet=offcut, **form.offcut),
        then=lambda _: saved_and_go(request, "stock-list", house.pk),
    )


@require_POST
def offcut_gone(request: SiteRequest, offcut_id: UUID) -> HttpResponse:
    """One of these offcuts is gone: broken, wet, thrown away."""
    offcut = _offcut(request, offcut_id)
    try:
        services.owned_sheet_gone(by=by_of(request, _pressed(request)), sheet=offcut)
        messages.info(request, f"Noted: one offcut of {_size(offcut, offcut.house.units)} is gone.")
    except Refused as error:
        messages.info(request, str(error))
    return go(request, "stock-list", offcut.house_id)


@require_POST
def offcut_remove(request: SiteRequest, offcut_id: UUID) -> HttpResponse:
    """Remove an offcut that was written down wrongly."""
    offcut = _offcut(request, offcut_id)
    house = offcut.house
    try:
        services.owned_sheet_remove(by=by_of(request, _pressed(request)), sheet=offcut)
    except Refused as error:
        messages.info(request, str(error))
        return go(request, "offcut-change", offcut.pk)
    name = f"the offcut of {_size(offcut, house.units)}"
    return removed(request, offcut, name, "stock-list", house.pk)


def _pressed(request: SiteRequest) -> HouseForm:
    """A form without fields, for the key of its press."""
    form = HouseForm(posted(request))
    form.is_valid()
    return form
