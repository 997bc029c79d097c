from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies = [
        ("supply", "0004_facts_and_claims"),
    ]

    operations = [
        migrations.AddConstraint(
            model_name="movement",
            constraint=models.CheckConstraint(
                condition=models.Q(
                    (
                        "kind__in",
                        ("received", "found", "cut", "used", "spoiled", "returned", "moved"),
                    )
                ),
                name="movement_kind",
            ),
        ),
        migrations.AddConstraint(
            model_name="movement",
            constraint=models.CheckConstraint(
                condition=models.Q(
                    ("reverses__isnull", False),
                    models.Q(("kind__in", ("received", "found")), ("numerator__gte", 1)),
                    models.Q(
                        ("kind__in", ("cut", "used", "spoiled", "returned")), ("numerator__lte", -1)
                    ),
                    models.Q(("count", True), ("kind", "used"), ("numerator", 0)),
                    ("kind", "moved"),
                    _connector="OR",
                ),
                name="movement_direction",
            ),
        ),
    ]
