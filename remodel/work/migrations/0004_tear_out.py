"""The first phase is called what people call it. A name that somebody gave stays."""

from typing import Any

from django.db import migrations


def rename(apps: Any, schema_editor: Any) -> None:
    phases = apps.get_model("work", "Phase").objects
    phases.filter(key="strip-out", name="Strip-out").update(name="Tear-out")


class Migration(migrations.Migration):
    dependencies = [("work", "0003_kept_photo")]

    operations = [migrations.RunPython(rename, migrations.RunPython.noop)]
