"""Counts become what was used or found."""

from typing import Any

from django.db import migrations


def counts_are_facts(apps: Any, schema_editor: Any) -> None:
    movements = apps.get_model("supply", "Movement").objects.filter(kind="counted")
    movements.filter(reverses=None, numerator__gt=0).update(kind="found", count=True)
    movements.filter(reverses=None, numerator__lte=0).update(kind="used", count=True)
    for movement in movements.select_related("reverses"):
        movement.kind, movement.count = movement.reverses.kind, True
        movement.save()


class Migration(migrations.Migration):
    dependencies = [
        ("supply", "0003_stock_over_time"),
    ]

    operations = [
        migrations.RunPython(counts_are_facts, migrations.RunPython.noop),
    ]
