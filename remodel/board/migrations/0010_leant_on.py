from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies = [
        ("board", "0009_hours_of_plans"),
    ]

    operations = [
        migrations.AddField(
            model_name="placedpiece",
            name="leant_on",
            field=models.BooleanField(default=False),
        ),
    ]
