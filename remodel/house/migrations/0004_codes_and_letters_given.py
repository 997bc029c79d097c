"""Gives every room a code and every wall and partition a letter, in the order of the house.

Rooms and walls that were removed come last: they may be put back. Sheets of plans made before are
marked with other letters, which no room gets as its code, so that no two boards in the house look
alike.
"""

from __future__ import annotations

from typing import Any

from django.db import migrations

from remodel.bridge.marks import new_code, new_letter, sheet_prefixes, surface_letters


def give_codes(apps: Any, schema_editor: Any) -> None:
    rooms, plans = apps.get_model("house", "Room"), apps.get_model("board", "Plan")
    for house in apps.get_model("house", "House").objects.values_list("pk", flat=True):
        taken: set[str] = set()
        for data in plans.objects.filter(house=house).values_list("data", flat=True).iterator():
            taken |= sheet_prefixes(data)
        in_order = rooms.objects.filter(house=house).order_by("position", "key")
        for room in sorted(in_order, key=lambda room: room.deleted_at is not None):
            code = new_code(room.name, taken)
            taken.add(code)
            rooms.objects.filter(pk=room.pk).update(code=code)


def give_letters(apps: Any, schema_editor: Any) -> None:
    walls, partitions = apps.get_model("house", "Wall"), apps.get_model("house", "Partition")
    for room in apps.get_model("house", "Room").objects.values_list("pk", flat=True):
        rows = walls.objects.filter(room=room).order_by("position", "key")
        here = list(rows.filter(deleted_at=None))
        in_order = here + list(rows.exclude(deleted_at=None))
        letters = surface_letters([wall.kind for wall in here], [""] * len(here))
        letters += [""] * (len(in_order) - len(here))
        letters = surface_letters([wall.kind for wall in in_order], letters)
        for wall, letter in zip(in_order, letters, strict=True):
            walls.objects.filter(pk=wall.pk).update(letter=letter)
        planned = list(partitions.objects.filter(room=room).order_by("position", "key"))
        planned.sort(key=lambda partition: partition.deleted_at is not None)
        for partition in planned:
            letter = new_letter(letters)
            letters.append(letter)
            partitions.objects.filter(pk=partition.pk).update(letter=letter)


class Migration(migrations.Migration):
    dependencies = [
        ("board", "0006_figures_progress_and_listed_sheets"),
        ("house", "0003_codes_and_letters"),
    ]

    operations = [
        migrations.RunPython(give_codes, migrations.RunPython.noop),
        migrations.RunPython(give_letters, migrations.RunPython.noop),
    ]
