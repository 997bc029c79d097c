"""Gives a pack for print a name of its own: things on sale come in packs too."""

from django.db import migrations


class Migration(migrations.Migration):
    dependencies = [("cards", "0002_pack_queue")]

    operations = [migrations.RenameModel("Pack", "PrintPack")]
