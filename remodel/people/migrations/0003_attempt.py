"""Gives one try against a limit the name it has in the code."""

from django.db import migrations


class Migration(migrations.Migration):
    dependencies = [("people", "0002_tries")]

    operations = [migrations.RenameModel("Tried", "Attempt")]
