"""All that was entered of a room, as tables with links to change it."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from django.db.models import Q
from django.urls import reverse

from remodel.bridge.built import built_of, taken_out_of
from remodel.bridge.framings import framing_of
from remodel.bridge.records import rules_of
from remodel.house.marks import CODE_LABEL
from remodel.house.models import Cutout, HiddenItem, Opening, Partition, Room, SurfaceChoice
from remodel.house.queries import built_faces, faces_of
from remodel.pages.house.forms.fields import (
    board_choices,
    board_value,
    plane_choices,
    spacing_text,
    wall_choices,
)
from remodel.pages.house.forms.walks import Walk
from remodel.pages.house.views_edit.outline import outline_shown
from remodel.web.lengths import marked_length
from remodel.web.parts import Cell, Column, Fact, Table

__all__ = ["cutout_table", "hidden_table", "measured_context", "opening_table"]

_PLACE = {
    "left": "the left end",
    "right": "the right end",
    "floor": "the floor",
    "ceiling": "the ceiling",
}
_TO = {"near": "its nearer edge", "centre": "its center", "far": "its farther edge"}


def measured_context(room: Room) -> dict[str, Any]:
    """The context of that page: facts, surfaces, and what stands on them."""
    outline = None
    if room.shape in ("quick", "walls"):
        walk = Walk(None, units=room.house.units, rows=list(room.walls.all()), least=0)
        outline = outline_shown(walk, tolerance=rules_of(room.house).closing_tolerance)
    return {
        "outline": outline,
        "facts": _facts(room),
        "surfaces": _surface_table(room),
        "openings": opening_table(room),
        "cutouts": cutout_table(room),
        "hidden": hidden_table(room),
        "partitions": _partition_table(room) if room.shape in ("quick", "walls") else None,
        "walled": room.shape in ("quick", "walls"),
    }


def _facts(room: Room) -> list[Fact]:
    units = room.house.units
    edit, framing = reverse("room-size", args=[room.pk]), reverse("room-framing", args=[room.pk])
    boards = reverse("room-finish", args=[room.pk])
    facts = [
        Fact(term="Name", value=room.name, change_url=edit, about="the name"),
        Fact(
            term=CODE_LABEL,
            value=room.code,
            change_url=edit,
            about="the code on boards",
        ),
    ]
    walls = list(room.walls.all())
    if room.shape == "quick":
        size = f"{marked_length(walls[0].length, units)} × {marked_length(walls[1].length, units)}"
        facts.append(Fact(term="Length × width", value=size, change_url=edit, about="the size"))
    if room.shape in ("quick", "walls"):
        ceiling = f"{room.get_ceiling_kind_display()}, {marked_length(room.ceiling_height, units)}"
        if room.ceiling_high:
            ceiling += f" up to {marked_length(room.ceiling_high, units)}"
        walls_url = reverse("room-walls", args=[room.pk])
        facts += [
            Fact(
                term="Walls",
                value=f"{len(walls)}, walked clockwise",
                change_url=walls_url,
                about="the walls",
            ),
            Fact(term="Ceiling", value=ceiling, change_url=edit, about="the ceiling"),
            Fact(
                term="Measured to",
                value=room.get_measured_to_display(),
                change_url=edit,
                about="what it was measured to",
            ),
        ]
    elif room.shape == "surfaces":
        facts.append(
            Fact(
                term="Surfaces",
                value=f"{len(walls)}, as a plain list",
                change_url=reverse("room-surfaces", args=[room.pk]),
                about="the surfaces",
            )
        )
    elif room.behind is not None:
        facts.append(
            Fact(term="Shape", value=f"What {room.behind.name} cuts off {room.behind.room.name}")
        )
    if room.shape in ("quick", "walls"):
        things = [one.name for one in built_of(room.built)]
        things += [f"{one.name} (comes out)" for one in taken_out_of(room.taken_out)]
        facts.append(
            Fact(
                term="Built in and taken out",
                value=", ".join(things) or "Nothing",
                change_url=reverse("room-built", args=[room.pk]),
                about="what is built in and taken out",
            )
        )
    facts += [
        Fact(
            term="Studs",
            value=_spacing(room.wall_framing, units),
            change_url=framing,
            about="the studs",
        ),
        Fact(
            term="Joists",
            value=_spacing(room.ceiling_framing, units),
            change_url=framing,
            about="the joists",
        ),
    ]
    hung = {wall.key: wall.name for wall in walls} | faces_of(room)
    order = ", ".join(hung.get(key, key) for key in room.hang_first) or "The longest wall first"
    facts.append(
        Fact(
            term="Hung in this order",
            value=order,
            note="Ceilings go up before any wall",
            change_url=reverse("room-hang-first", args=[room.pk]),
            about="the order of the walls",
        )
    )
    names = dict(board_choices(room.house))
    for what, name in (("Wall board", "wall_board"), ("Ceiling board", "ceiling_board")):
        value = board_value(room, name)
        shown = names.get(value, value) or "House default"
        facts.append(Fact(term=what, value=shown, change_url=boards, about=what.lower()))
    longest = (
        "House default" if room.longest_board is None else marked_length(room.longest_board, units)
    )
    facts += [
        Fact(term="Longest board", value=longest, change_url=boards, about="the longest board"),
        Fact(
            term="Finish",
            value=f"Level {room.wall_level} walls, level {room.ceiling_level} ceiling",
            change_url=boards,
            about="the finish",
        ),
    ]
    return facts


def _spacing(raw: dict[str, Any] | None, units: str) -> str:
    framing = framing_of(raw)
    if framing.spacing is None:
        return "Not known yet: the plan is provisional"
    return f"{spacing_text(int(framing.spacing), units)} center to center"


def _surface_table(room: Room) -> Table:
    """Every surface with what was chosen for it, each with a link to its choice."""
    rows: list[list[str | Cell]] = []
    boards = dict(board_choices(room.house))
    choices = {choice.surface_key: choice for choice in room.choices.select_related("wall")}
    for key, name in [
        *wall_choices(room),
        *faces_of(room).items(),
        *plane_choices(room),
        *((key, name) for key, (name, _) in built_faces(room).items()),
    ]:
        row = choices.get(key)
        url = reverse("surface-edit", args=[room.pk, key])
        rows.append(
            [Cell(text=name, url=url), _action(room, row), *_chosen(row, boards, room.house.units)]
        )
    columns = [
        Column(title=title) for title in ("Surface", "What happens to it", "Board", "Framing")
    ]
    return Table(
        id="surfaces",
        caption="Surfaces",
        columns=columns,
        rows=rows,
        for_writers=True,
        caption_hidden=True,
    )


def _action(room: Room, row: SurfaceChoice | None) -> str:
    if room.finished:
        return "Finished"
    return (
        row.get_action_display() if row is not None and row.action else "New board on bare framing"
    )


def _chosen(row: SurfaceChoice | None, boards: Mapping[str, str], units: str) -> list[str | Cell]:
    if row is None:
        return ["Room default", "Room default"]
    board = board_value(row, "board")
    members = _spacing(row.framing, units) if row.framing else "Room default"
    return [boards.get(board, board) or "Room default", members]


def opening_table(room: Room) -> Table:
    units = room.house.units
    openings = Opening.objects.filter(
        Q(room=room) | Q(partition__room=room, partition__deleted_at=None)
    )
    rows: list[list[str | Cell]] = [
        [
            Cell(text=opening.name, url=reverse("opening-edit", args=[opening.pk])),
            opening.get_kind_display(),
            opening.partition.faces[opening.plane] if opening.partition else _on(opening),
            marked_length(opening.left, units),
            f"{marked_length(opening.width, units)} × {marked_length(opening.height, units)}",
            marked_length(opening.sill, units) if opening.sill else "On the floor",
        ]
        for opening in openings.select_related("wall", "partition").order_by("position")
    ]
    titles = ("Opening", "Kind", "In", "From the left", "Width × height", "Sill")
    columns = [Column(title=title) for title in titles]
    return Table(
        id="openings",
        caption="Doors, windows and cased openings",
        columns=columns,
        rows=rows,
        for_writers=True,
    )


def cutout_table(room: Room) -> Table:
    return _placed_table(
        room,
        Cutout.objects.filter(room=room),
        "cutout",
        "Boxes, lights, vents and pipes",
        id_="cutouts",
    )


def hidden_table(room: Room) -> Table:
    return _placed_table(
        room, HiddenItem.objects.filter(room=room), "hidden", "Behind the board", id_="hidden"
    )


def _placed_table(room: Room, things: Any, word: str, caption: str, *, id_: str) -> Table:
    units = room.house.units
    walls = dict(wall_choices(room))
    rows: list[list[str | Cell]] = []
    for thing in things.select_related("wall").order_by("position"):
        size = marked_length(thing.width, units)
        if thing.height is not None:
            size += f" × {marked_length(thing.height, units)}"
        if along := walls.get(getattr(thing, "along", "")):
            size += f", longer side along {along}"
        kind = thing.get_kind_display()
        if getattr(thing, "planned", False):
            kind += ", still to go in"
        rows.append(
            [
                Cell(text=thing.name, url=reverse(f"{word}-edit", args=[thing.pk])),
                kind,
                _on(thing),
                _reading(thing, "across", walls, units),
                _reading(thing, "up", walls, units),
                size,
            ]
        )
    columns = [
        Column(title=title) for title in ("Name", "Kind", "On", "Across", "Up or down", "Size")
    ]
    return Table(id=id_, caption=caption, columns=columns, rows=rows, for_writers=True)


def _reading(row: Any, name: str, walls: Mapping[str, str], units: str) -> str:
    origin = getattr(row, f"{name}_origin")
    where = _PLACE.get(origin) or walls.get(origin, origin)
    return (
        f"{marked_length(getattr(row, f'{name}_distance'), units)} from {where} to "
        f"{_TO[getattr(row, f'{name}_to')]}"
    )


def _on(row: Any) -> str:
    if row.wall is not None:
        return str(row.wall.name)
    return "Ceiling" if row.plane == "ceiling" else str(row.plane).replace("-", " ").capitalize()


def _stands(partition: Partition, faces: Mapping[str, str], units: str) -> str:
    """Where a partition starts, and where it turns."""
    start = faces.get(partition.plane) or _on(partition)
    words = f"Off {start}, {marked_length(partition.at, units)} from its left end"
    legs = partition.legs_now
    if not legs or partition.length is None:
        return words
    corners = "a corner" if len(legs) == 1 else f"{len(legs)} corners"
    return f"{words}; {corners}, the first after {marked_length(partition.length, units)}"


def _partition_table(room: Room) -> Table:
    units = room.house.units
    rows: list[list[str | Cell]] = []
    for partition in (
        Partition.objects.filter(room=room).select_related("wall").prefetch_related("rooms_behind")
    ):
        behind = next(
            (one.name for one in partition.rooms_behind.all() if one.deleted_at is None), ""
        )
        rows.append(
            [
                Cell(text=partition.name, url=reverse("partition-edit", args=[partition.pk])),
                _stands(partition, faces_of(room), units),
                behind,
                partition.get_framed_display(),
            ]
        )
    columns = [Column(title=title) for title in ("Partition", "Where", "Makes", "Framed")]
    return Table(
        id="partitions", caption="Planned partitions", columns=columns, rows=rows, for_writers=True
    )
