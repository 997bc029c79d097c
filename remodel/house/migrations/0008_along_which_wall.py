"""A box or vent of a ceiling says along which wall its longer side lies."""

from __future__ import annotations

from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies = [
        ("house", "0007_what_surfaces_take"),
    ]

    operations = [
        migrations.AddField(
            model_name="cutout",
            name="along",
            field=models.CharField(blank=True, default="", max_length=64),
        ),
    ]
