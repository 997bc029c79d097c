"""Gives a search that waits or runs the name it has in the code."""

from django.db import migrations


class Migration(migrations.Migration):
    dependencies = [("board", "0003_figures_and_queue")]

    operations = [migrations.RenameModel("Job", "SearchJob")]
