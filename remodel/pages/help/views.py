"""Help: how each page works (collected from the pages themselves), the words with their picture,
and the cautions."""

from __future__ import annotations

import html
import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from types import SimpleNamespace
from uuid import UUID

from django.conf import settings
from django.http import HttpResponse
from django.shortcuts import render
from django.template import Context, loader
from django.template.library import SimpleBlockNode
from django.utils.html import strip_tags
from django.views.decorators.http import require_GET

from remodel.people.http import SiteRequest
from remodel.people.queries import house_for, may_archive

__all__ = ["EXPLAINED", "Explained", "explained", "help_page", "measuring_sheet"]

# Which pages explain themselves, in the order one meets them: the template and what its page is
# called here. A template with several explanations has a name for each.
EXPLAINED: dict[str, dict[str, tuple[str, ...]]] = {
    "The house and its rooms": {
        "edit/house_new.html": ("A new house",),
        "edit/house_edit.html": ("House settings and file",),
        "edit/house_rules.html": ("Rules of the house",),
        "edit/house_import.html": ("A house file",),
        "house/house.html": ("The house",),
        "house/rooms.html": ("All rooms",),
        "edit/room_add.html": ("Add a room",),
        "edit/_walk_help.html": ("Wall by wall",),
        "edit/_surface_help.html": ("A list of surfaces",),
        "edit/room_edit.html": ("A room as measured",),
        "edit/room_size.html": ("Size of a room",),
        "edit/room_framing.html": ("Framing of a room",),
        "edit/room_built.html": ("Built in and taken out",),
        "edit/room_finish.html": ("Boards and finish",),
        "edit/surface.html": ("What happens to a surface",),
        "edit/room_hang_first.html": ("Order of the walls",),
        "edit/_thing_help.html": ("Openings", "Boxes, and what is behind the board"),
        "edit/_partition_help.html": ("A new partition",),
        "rooms/partitions.html": ("Partitions",),
        "rooms/partition.html": ("When a partition is framed",),
        "choices/choices.html": ("Choices still open",),
        "choices/choice.html": ("A choice both ways",),
    },
    "Plans and phases": {
        "rooms/now.html": ("A room",),
        "rooms/boards.html": ("Boards of a room",),
        "board/compare.html": ("Two plans of a room",),
        "board/ways.html": ("Other ways to board a room",),
        "rooms/surface.html": ("A surface",),
        "cards/card.html": ("A sheet card",),
        "cards/differently.html": ("A piece that is not as planned",),
        "cards/marking.html": ("How marks are measured",),
        "cards/take_along.html": ("A room taken along",),
        "packs/packs.html": ("Packs on paper",),
        "work/phases.html": ("Phases of a room",),
        "work/phase.html": ("A phase",),
        "work/_added_help.html": ("What you add to a phase",),
        "work/next.html": ("What next",),
        "work/stops.html": ("What comes first",),
        "work/behind.html": ("Behind a board",),
        "cards/lumber.html": ("Lumber, stick by stick",),
    },
    "Orders, prices and stock": {
        "supply/price_bring_in.html": ("A table of prices",),
        "supply/order_list.html": ("Orders",),
        "supply/order_new.html": ("A new order",),
        "supply/order.html": ("An order",),
        "supply/order_line.html": ("A line of an order",),
        "supply/order_line_empty.html": ("An empty shelf",),
        "supply/order_line_instead.html": ("Something else than was ordered",),
        "supply/order_add.html": ("Something more",),
        "board/together.html": ("Rooms that share sheets",),
        "supply/order_store.html": ("In the store",),
        "supply/order_receive.html": ("A delivery",),
        "supply/order_return.html": ("What goes back",),
        "house/money.html": ("Money",),
        "supply/price_list.html": ("Your store's lengths and prices",),
        "supply/price_confirm.html": ("Confirm prices",),
        "supply/prices.html": ("Prices of a thing",),
        "supply/price_add.html": ("Something new on sale",),
        "supply/price_longest.html": ("Longest board that gets in",),
        "supply/store.html": ("Stores",),
        "supply/stock_list.html": ("What is here",),
        "supply/stock_have.html": ("What we already have",),
        "supply/stock_item.html": ("One thing that is here",),
        "supply/stock_offcut.html": ("An offcut",),
        "supply/stock_write.html": ("Counting, spoiling, moving",),
    },
    "The log and the history": {
        "log/list.html": ("The log",),
        "log/pick.html": ("What the day was spent on",),
        "log/add.html": ("A day",),
        "log/change.html": ("Change a log",),
        "log/use.html": ("Estimated vs. used",),
        "history/history.html": ("History",),
    },
    "People and devices": {
        "people/who.html": ("Who is here",),
        "people/devices.html": ("Devices",),
        "people/pair.html": ("Pair a device",),
        "people/archive.html": ("The archive",),
        "people/archive_restore.html": ("Restore from an archive",),
        "people/sign_in.html": ("Sign in",),
        "people/password.html": ("Your password",),
        "people/members.html": ("People of a house",),
    },
}
_HOME = frozenset(
    {
        "people/who.html",
        "people/devices.html",
        "people/pair.html",
        "people/archive.html",
        "people/archive_restore.html",
    }
)
_HOSTED = frozenset({"people/sign_in.html", "people/password.html"})


@dataclass(frozen=True, slots=True)
class Explained:
    """One page's own explanation, as plain paragraphs."""

    name: str
    paragraphs: tuple[str, ...]


@require_GET
def help_page(request: SiteRequest, house_id: UUID | None = None) -> HttpResponse:
    """Help, with the links to the house's pages where a house is known."""
    house = house_for(request.person, house_id) if house_id else None
    sections = [(title, list(explained(templates))) for title, templates in EXPLAINED.items()]
    context = {"house": house, "sections": sections, "archive": may_archive(request.person)}
    return render(request, "help/help.html", context)


@dataclass(frozen=True, slots=True)
class Blank:
    """A table to write in by hand: its columns, the first of them printed row by row."""

    name: str
    columns: tuple[str, ...]
    rows: Sequence[str]
    note: str = ""


BLANKS = (
    Blank(
        "Walls",
        ("Wall", "Length", "Height", "First stud from the left", "Studs apart", "What happens"),
        "ABCDEFGH",
        "What happens to a wall: leave, patch, board over, or strip and board.",
    ),
    Blank(
        "Doors, windows and openings",
        ("No.", "Wall", "What", "From the left end", "Sill above floor", "Width", "Height"),
        "123456",
        "Left is as you face the wall from inside. Note whether you measured the rough opening or "
        "the door or window itself.",
    ),
    Blank(
        "Boxes, lights, vents and pipes",
        ("No.", "Wall or ceiling", "What", "From which side", "How far", "Above floor", "Size"),
        "12345678",
        "On the ceiling, measure from two walls that meet. Note whether to the edge or to the "
        "center.",
    ),
    Blank(
        "Behind the board",
        (
            "No.",
            "Wall or ceiling",
            "Cable, pipe or blocking",
            "From the left end",
            "Above floor",
        ),
        "1234",
    ),
)


@require_GET
def measuring_sheet(request: SiteRequest) -> HttpResponse:
    """A page to print and write on by hand: blank walls, openings, boxes and framing of a room."""
    context = {"tables": BLANKS, "upright": range(0, 361, 10), "level": range(0, 171, 10)}
    return render(request, "help/measuring_sheet.html", context)


def explained(templates: dict[str, tuple[str, ...]]) -> Iterator[Explained]:
    """The explanations of some pages. Pages that belong to another way to run Halfbay are left
    out."""
    for template, names in templates.items():
        if template in (_HOME if settings.HOSTED else _HOSTED):
            continue
        for name, text in zip(names, _texts(template), strict=True):
            yield Explained(name=name, paragraphs=tuple(_plain(text)))


def _texts(template: str) -> Iterator[str]:
    page = loader.get_template(template).template  # type: ignore[attr-defined]
    context = _general()
    with context.bind_template(page):
        for node in page.nodelist.get_nodes_by_type(SimpleBlockNode):
            if getattr(node.func, "__name__", "") == "how_this_works":
                yield node.nodelist.render(context)


def _plain(text: str) -> Iterator[str]:
    """The paragraphs without their links, which lead away from that page. A paragraph that is only
    a link is left out."""
    for paragraph in re.findall(r"<p>(.*?)</p>", text, re.DOTALL):
        if not re.fullmatch(r"\s*<a\b[^>]*>[^<]*</a>\s*", paragraph):
            yield " ".join(html.unescape(strip_tags(paragraph)).split())


def _general() -> Context:
    """Names that fit any house, for explanations that name what is on their page."""
    nobody = UUID(int=0)
    return Context(
        {
            "hosted": settings.HOSTED,
            "house": SimpleNamespace(pk=nobody, name="The house"),
            "room": SimpleNamespace(pk=nobody, name="The room"),
            "behind": SimpleNamespace(pk=nobody, name="the one behind the partition"),
            "kind": SimpleNamespace(word="", name=""),
            "form": SimpleNamespace(holds=True),
            "material": True,
            "item": SimpleNamespace(cut=False, name=""),
        }
    )
