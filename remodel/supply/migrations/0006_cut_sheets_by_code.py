"""Sheets that were cut are known by their codes alone, and keep what the plan had them cut into.

A sheet of a plan that was replaced gets another code where the plan that stands has one of the
same. What was decided of a rest is told by the mark of the rest.
"""

from __future__ import annotations

from typing import Any

from django.conf import settings
from django.db import migrations, models

from remodel.bridge import codec
from remodel.bridge.placed import sheet_in, write_sheet
from remodel.bridge.plans import plan_from

_STANDING = ("accepted", "ordered", "cut", "hung")


def sheets_keep_their_cuts(apps: Any, schema_editor: Any) -> None:
    rows = apps.get_model("supply", "CutSheet").objects
    for house in rows.order_by().values_list("house", flat=True).distinct():
        plans, standing = {}, set()
        for plan_row in apps.get_model("board", "Plan").objects.filter(house=house):
            # As it was called: by what was stored of it, whatever more plans have since.
            name = codec.digest(plan_row.data)
            plans[name] = plan_from(plan_row.data)
            if plan_row.state in _STANDING:
                standing.add(name)
        taken: set[tuple[Any, str]] = set()
        for row in sorted(
            rows.filter(house=house).order_by("at"), key=lambda row: row.plan not in standing
        ):
            planned = sheet_in(plans[row.plan], row.code) if row.plan in plans else None
            if planned is not None:
                row.data = write_sheet(planned)
                ids = {str(place): offcut.id for place, offcut in enumerate(planned.offcuts)}
                row.rests = {ids.get(place, place): key for place, key in row.rests.items()}
            if (row.room_id, row.code) in taken:
                row.code = f"{row.code} {row.plan[:6]}"
            taken.add((row.room_id, row.code))
            row.save(update_fields=["code", "data", "rests"])


class Migration(migrations.Migration):
    dependencies = [
        ("board", "0007_placed_pieces_and_marks"),
        ("house", "0002_room_pile"),
        ("supply", "0005_kinds_of_movements"),
        migrations.swappable_dependency(settings.AUTH_USER_MODEL),
    ]

    operations = [
        migrations.AddField(
            model_name="cutsheet",
            name="data",
            field=models.JSONField(blank=True, null=True),
        ),
        migrations.RunPython(sheets_keep_their_cuts, migrations.RunPython.noop),
        migrations.RemoveConstraint(model_name="cutsheet", name="cut_sheet_once"),
        migrations.RemoveField(model_name="cutsheet", name="plan"),
        migrations.AddConstraint(
            model_name="cutsheet",
            constraint=models.UniqueConstraint(fields=("room", "code"), name="cut_sheet_once"),
        ),
    ]
