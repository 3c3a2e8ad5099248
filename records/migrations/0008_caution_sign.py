"""Add the pictogram that replaces the country's on cautions."""

from django.db import migrations, models

from records.models.trigger_operations import KeepHistory


class Migration(migrations.Migration):
    dependencies = [
        ("records", "0007_sighting_by"),
    ]

    operations = [
        migrations.CreateModel(
            name="CautionSign",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                (
                    "pictogram",
                    models.CharField(
                        choices=[
                            ("triangle", "laser triangle"),
                            ("triangle_plate", "laser triangle, and the words on a plate"),
                            ("starburst", "starburst without triangle"),
                            ("own", "a picture of your own"),
                        ],
                        max_length=14,
                    ),
                ),
                ("picture", models.TextField(blank=True)),
            ],
            options={
                "constraints": [
                    models.CheckConstraint(
                        condition=models.Q(("id", 1)), name="caution_sign_is_one_row"
                    ),
                    models.CheckConstraint(
                        condition=models.Q(
                            ("pictogram__in", ["triangle", "triangle_plate", "starburst", "own"])
                        ),
                        name="caution_sign_is_known",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(
                            ("picture", ""), ("pictogram", "own"), _connector="XOR"
                        ),
                        name="caution_sign_has_a_picture_where_it_is_its_own",
                    ),
                ],
            },
        ),
        migrations.CreateModel(
            name="CautionSignHistory",
            fields=[
                ("row", models.BigAutoField(primary_key=True, serialize=False)),
                ("since", models.BigIntegerField()),
                ("until", models.BigIntegerField(default=9223372036854775807)),
                ("id", models.BigIntegerField()),
                (
                    "pictogram",
                    models.CharField(
                        choices=[
                            ("triangle", "laser triangle"),
                            ("triangle_plate", "laser triangle, and the words on a plate"),
                            ("starburst", "starburst without triangle"),
                            ("own", "a picture of your own"),
                        ],
                        max_length=14,
                    ),
                ),
                ("picture", models.TextField(blank=True)),
            ],
            options={
                "db_table": "records_cautionsign_history",
                "indexes": [
                    models.Index(fields=["id", "since"], name="cautionsign_past_id"),
                    models.Index(fields=["since"], name="cautionsign_past_since"),
                    models.Index(
                        condition=models.Q(("until__lt", 9223372036854775807)),
                        fields=["until"],
                        name="cautionsign_past_until",
                    ),
                ],
            },
        ),
        KeepHistory("cautionsign"),
    ]
