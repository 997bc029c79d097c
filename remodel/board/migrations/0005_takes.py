"""Adds what each tick of a room uses up. It is filled when the figures are next worked out."""

from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies = [("board", "0004_search_job")]

    operations = [
        migrations.AddField(
            model_name="roomresult",
            name="takes",
            field=models.JSONField(default=list),
        )
    ]
