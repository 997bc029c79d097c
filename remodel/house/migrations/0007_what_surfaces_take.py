"""What is let into surfaces and turned into openings, what old linings are, and what is over
ceilings.

Nobody was ever asked whether a ceiling carries no insulation, so an answer of no becomes not known.
"""

from __future__ import annotations

from typing import Any

from django.db import migrations, models


def nobody_was_asked(apps: Any, schema_editor: Any) -> None:
    choices = apps.get_model("house", "SurfaceChoice")
    choices.objects.filter(insulated=False).update(insulated=None)


def not_insulated(apps: Any, schema_editor: Any) -> None:
    choices = apps.get_model("house", "SurfaceChoice")
    choices.objects.filter(insulated=None).update(insulated=False)


class Migration(migrations.Migration):
    dependencies = [
        ("house", "0006_plain_words"),
    ]

    operations = [
        migrations.AddField(
            model_name="opening",
            name="return_depth",
            field=models.BigIntegerField(blank=True, null=True),
        ),
        migrations.AddField(
            model_name="room",
            name="garage",
            field=models.BooleanField(default=False),
        ),
        migrations.AddField(
            model_name="room",
            name="slab",
            field=models.BooleanField(default=False),
        ),
        migrations.AddField(
            model_name="surfacechoice",
            name="above",
            field=models.CharField(
                blank=True,
                choices=[("room", "A room to live in"), ("attic", "An attic or the roof")],
                default="",
                max_length=20,
            ),
        ),
        migrations.AddField(
            model_name="surfacechoice",
            name="insulation",
            field=models.JSONField(blank=True, null=True),
        ),
        migrations.AddField(
            model_name="surfacechoice",
            name="old_lining",
            field=models.CharField(
                blank=True,
                choices=[("board", "Gypsum board"), ("plaster", "Plaster on lath")],
                default="",
                max_length=20,
            ),
        ),
        migrations.AddField(
            model_name="surfacechoice",
            name="patches",
            field=models.JSONField(blank=True, default=list),
        ),
        migrations.AddField(
            model_name="surfacechoice",
            name="layers",
            field=models.PositiveSmallIntegerField(default=1),
        ),
        migrations.AlterField(
            model_name="surfacechoice",
            name="insulated",
            field=models.BooleanField(blank=True, null=True),
        ),
        migrations.AddConstraint(
            model_name="opening",
            constraint=models.CheckConstraint(
                condition=models.Q(("return_depth__gte", 1), ("return_depth__lte", 304800000000)),
                name="opening_return_depth",
            ),
        ),
        migrations.AddConstraint(
            model_name="surfacechoice",
            constraint=models.CheckConstraint(
                condition=models.Q(("above__in", ["room", "attic", ""])), name="choice_above"
            ),
        ),
        migrations.AddConstraint(
            model_name="surfacechoice",
            constraint=models.CheckConstraint(
                condition=models.Q(("old_lining__in", ["board", "plaster", ""])),
                name="choice_old_lining",
            ),
        ),
        migrations.AddConstraint(
            model_name="surfacechoice",
            constraint=models.CheckConstraint(
                condition=models.Q(("layers__in", (1, 2))), name="choice_layers"
            ),
        ),
        migrations.RunPython(nobody_was_asked, not_insulated),
    ]
