"""A price of seams that is the old default, 1.00, goes: what finishing a seam takes is now in the
hours, and the price of seams is what is asked beside it."""

from __future__ import annotations

from decimal import Decimal
from typing import Any

from django.db import migrations


def without_the_old_default(apps: Any, schema_editor: Any) -> None:
    houses = apps.get_model("house", "House")
    for house in houses.objects.filter(rules__has_key="seam_price").iterator():
        if Decimal(str(house.rules["seam_price"])) == 1:
            rules = {name: rule for name, rule in house.rules.items() if name != "seam_price"}
            houses.objects.filter(pk=house.pk).update(rules=rules)


class Migration(migrations.Migration):
    dependencies = [
        ("house", "0004_codes_and_letters_given"),
    ]

    operations = [
        migrations.RunPython(without_the_old_default, migrations.RunPython.noop),
    ]
