"""Carries what was ticked over to placed pieces, and notes the marks of the plans that stand.

A piece of a plan that stands lies as that plan has it; where, is worked out with the next figures.
A piece of an earlier plan that is still stored is placed as that plan had it, on the surface as far
as the plan covers it. Its tick gets another name where the plan that stands has a piece of the same
mark. Of a plan that is forgotten the ticks stay as they are, and no piece is placed: count what is
here.
"""

from __future__ import annotations

import uuid
from typing import Any

from django.conf import settings
from django.db import migrations, models

from remodel.bridge import codec
from remodel.bridge.placed import as_planned, marks_in, outer_shapes, pieces_in, write_board
from remodel.bridge.plans import BoardPlan, plan_from

_STANDING = ("accepted", "ordered", "cut", "hung")


def pieces_are_placed(apps: Any, schema_editor: Any) -> None:
    rows = apps.get_model("cards", "DoneMark").objects
    ticks = rows.filter(kind__in=("cut", "hung")).exclude(plan="").select_related("room")
    for house in ticks.order_by().values_list("house", flat=True).distinct():
        _place_in(apps, house, list(ticks.filter(house=house).order_by("at")))


def _place_in(apps: Any, house: Any, ticks: list[Any]) -> None:
    stands: dict[str, BoardPlan] = {}
    earlier: dict[str, BoardPlan] = {}
    for row in apps.get_model("board", "Plan").objects.filter(house=house):
        # A plan was called by the digest of what was stored of it, whatever more plans have since.
        name = codec.digest(row.data)
        (stands if row.state in _STANDING else earlier)[name] = plan_from(row.data)
    _note_marks(apps, house, stands.values())
    placed: dict[tuple[Any, str], Any] = {}
    # Those of plans that stand come first and keep their names.
    for tick in sorted(ticks, key=lambda tick: tick.plan not in stands):
        plan = stands.get(tick.plan) or earlier.get(tick.plan)
        surface, _, mark = tick.item.rpartition(".")
        if tick.plan not in stands:
            mark = f"{mark} {tick.plan[:6]}"
            tick.item = f"{surface}.{mark}"
            tick.save(update_fields=["item"])
        if plan is not None and tick.done:
            _place(apps, placed, tick, plan, surface, mark, stands=tick.plan in stands)
    apps.get_model("board", "PlacedPiece").objects.bulk_create(placed.values())


def _place(
    apps: Any,
    placed: dict[tuple[Any, str], Any],
    tick: Any,
    plan: BoardPlan,
    surface: str,
    mark: str,
    *,
    stands: bool,
) -> None:
    row = placed.get((tick.room_id, mark))
    if row is None:
        code = mark.partition(" ")[0]
        board = None if stands else as_planned(plan, outer_shapes(plan), {code}).get(code)
        row = placed[tick.room_id, mark] = apps.get_model("board", "PlacedPiece")(
            id=uuid.uuid5(tick.room_id, f"piece {mark}"),
            house_id=tick.house_id,
            room_id=tick.room_id,
            mark=mark,
            surface=surface,
            sheet=pieces_in(plan).get(code, ("", "", ""))[2],
            state="cut",
            place=None if board is None else write_board(board) | {"mark": mark},
            as_planned=stands,
            cut_at=tick.at,
            person_id=tick.person_id,
        )
    if tick.kind == "hung":
        row.state, row.hung_at = "hung", tick.at


def _note_marks(apps: Any, house: Any, plans: Any) -> None:
    rooms = dict(
        apps.get_model("house", "Room").objects.filter(house=house).values_list("key", "pk")
    )
    texts = dict.fromkeys(of for plan in plans for of in marks_in(plan))
    apps.get_model("board", "Mark").objects.bulk_create(
        apps.get_model("board", "Mark")(
            id=uuid.uuid5(rooms[key], f"mark {text}"),
            house_id=house,
            room_id=rooms[key],
            text=text,
        )
        for key, text in texts
        if key in rooms
    )


class Migration(migrations.Migration):
    dependencies = [
        ("board", "0007_placed_pieces_and_marks"),
        ("cards", "0004_coats_and_places"),
        ("house", "0002_room_pile"),
        # Its data were written by way of what is taken away here.
        ("supply", "0005_kinds_of_movements"),
        migrations.swappable_dependency(settings.AUTH_USER_MODEL),
    ]

    operations = [
        migrations.AddField(
            model_name="printpack", name="sheets", field=models.JSONField(default=list)
        ),
        migrations.RunPython(pieces_are_placed, migrations.RunPython.noop),
        migrations.RemoveConstraint(model_name="donemark", name="done_mark_once"),
        migrations.RemoveField(model_name="donemark", name="place"),
        migrations.RemoveField(model_name="donemark", name="plan"),
        migrations.AddConstraint(
            model_name="donemark",
            constraint=models.UniqueConstraint(
                fields=("room", "kind", "item"), name="done_mark_once"
            ),
        ),
    ]
