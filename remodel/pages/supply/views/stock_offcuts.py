"""Offcuts that are here: shown with the stock, changed, gone, removed."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from uuid import UUID, uuid4

from django.contrib import messages
from django.http import HttpResponse
from django.views.decorators.http import require_http_methods, require_POST

from remodel.board.queries import planned_offcuts
from remodel.bridge import lengths
from remodel.bridge.placed import Offcut, read_sheet
from remodel.bridge.sheet_lists import PlannedFrom, comes_words, offcut_words
from remodel.bridge.supply import sheet_sizes
from remodel.history.errors import Refused
from remodel.house.models import House
from remodel.pages.editing import Seen, by_of, edit, posted, removed, saved_and_go
from remodel.pages.supply.forms_stock import BoardSize, OffcutForm, board_key
from remodel.people.http import SiteRequest
from remodel.people.queries import row_for
from remodel.supply import services
from remodel.supply.models import CutSheet, OwnedSheet, SheetOnSale
from remodel.web.forms import HouseForm
from remodel.web.responses import go

__all__ = [
    "boards_on_sale",
    "offcut_change",
    "offcut_gone",
    "offcut_remove",
    "offcuts_of",
    "offcuts_shown",
]

Planned = Mapping[str, Sequence[PlannedFrom]]
Kinds = Mapping[str, tuple[int, str]]

_EDGES = ("no factory edge", "1 factory edge", "2 factory edges")


@dataclass(frozen=True, slots=True, kw_only=True)
class OffcutShown:
    """One offcut in words. `comes` says which pieces will come of it, and is empty for one that is
    free. `is_awaited` says that pieces of a plan that stands wait for it. `key` makes a press of
    "Gone" count once."""

    offcut: OwnedSheet
    name: str
    board: str
    size: str
    edges: str
    comes: str
    is_awaited: bool
    key: str


@dataclass(frozen=True, slots=True, kw_only=True)
class BegunRest:
    """An offcut that is still on a sheet which is begun, and the pieces that will come of it."""

    name: str
    sheet: str
    board: str
    size: str
    edges: str
    comes: str


def offcuts_of(house: House) -> tuple[list[OffcutShown], list[BegunRest]]:
    """The offcuts that are here, by board and from large to small; and those that are still on a
    sheet which is begun."""
    planned = planned_offcuts(house.pk)
    kinds = {kind.key: (kind.position, kind.name) for kind in house.board_kinds.all()}
    return _offcuts(house, planned, kinds), _begun_rests(house, planned, kinds)


def offcuts_shown(house: House) -> list[OffcutShown]:
    """The offcuts that are here, by board and from large to small."""
    return offcuts_of(house)[0]


def _begun_rests(house: House, planned: Planned, kinds: Kinds) -> list[BegunRest]:
    """The rests of begun sheets that are meant for a piece and were not cut off yet."""
    if not planned:
        return []
    rows = CutSheet.objects.filter(house=house, data__isnull=False).order_by("at", "code")
    shown = []
    for row in rows:
        sheet = read_sheet(row.data)
        sizes = (sheet.thickness, sheet.width, sheet.length)
        shown += [
            BegunRest(
                name=_named(rest.id),
                sheet=row.code,
                board=_board_name(kinds.get(sheet.board, (0, sheet.board))[1], sizes),
                size=_size(rest, house.units),
                edges=_EDGES[rest.factory_edges],
                comes=comes_words(planned[rest.id]),
            )
            for rest in sheet.offcuts
            if rest.id in planned and rest.id not in row.rests
        ]
    return shown


def _named(mark: str) -> str:
    words = offcut_words(mark)
    return words[:1].upper() + words[1:]


def _offcuts(house: House, planned: Planned, kinds: Kinds) -> list[OffcutShown]:
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
            name=_named(offcut.key),
            board=_board_name(
                kinds.get(offcut.board, (0, offcut.board))[1],
                (offcut.thickness, offcut.width, offcut.length),
            ),
            size=_size(offcut, house.units),
            edges=_EDGES[offcut.factory_edges],
            comes=comes_words(planned.get(offcut.key, ())),
            is_awaited=any(one.stands for one in planned.get(offcut.key, ())),
            key=key,
        )
        for offcut in here
    ]


def _size(offcut: OwnedSheet | Offcut, units: str) -> str:
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
        lambda: {
            "house": house,
            "offcut": offcut,
            "name": _named(offcut.key),
            "size": _size(offcut, house.units),
            **_waiting(offcut),
        },
        write=lambda by: services.owned_sheet_change(
            by=by, sheet=offcut, knowing=_knowing(request), **form.offcut
        ),
        then=lambda _: saved_and_go(request, "stock-list", house.pk),
    )


@require_POST
def offcut_gone(request: SiteRequest, offcut_id: UUID) -> HttpResponse:
    """One of these offcuts is gone: broken, wet, thrown away."""
    offcut = _offcut(request, offcut_id)
    try:
        services.owned_sheet_gone(
            by=by_of(request, _pressed(request)), sheet=offcut, knowing=_knowing(request)
        )
        messages.info(request, f"Noted: one offcut of {_size(offcut, offcut.house.units)} is gone.")
    except Refused as error:
        messages.info(request, f"Nothing was changed yet. {error}.")
        return go(request, "offcut-change", offcut.pk)
    return go(request, "stock-list", offcut.house_id)


@require_POST
def offcut_remove(request: SiteRequest, offcut_id: UUID) -> HttpResponse:
    """Remove an offcut that was written down wrongly."""
    offcut = _offcut(request, offcut_id)
    house = offcut.house
    try:
        services.owned_sheet_remove(
            by=by_of(request, _pressed(request)), sheet=offcut, knowing=_knowing(request)
        )
    except Refused as error:
        messages.info(request, str(error))
        return go(request, "offcut-change", offcut.pk)
    name = f"the offcut of {_size(offcut, house.units)}"
    return removed(request, offcut, name, "stock-list", house.pk)


def _waiting(offcut: OwnedSheet) -> dict[str, object]:
    """What pieces of plans that stand wait for an offcut, as its page says it."""
    waiting = services.waiting_for(offcut)
    return {
        "waits": services.waits_words(waiting) if waiting else "",
        "waiting": [code for one in waiting for code in one.codes],
    }


def _knowing(request: SiteRequest) -> list[str]:
    """The pieces that the page said wait for the offcut."""
    return request.POST.getlist("knowing")


def _pressed(request: SiteRequest) -> HouseForm:
    """A form without fields, for the key of its press."""
    form = HouseForm(posted(request))
    form.is_valid()
    return form
