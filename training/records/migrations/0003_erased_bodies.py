"""A body may go once the newest record of its chain says that it is erased; nothing else may, as before."""

import django.db.models.deletion
from django.db import migrations, models

from training.records import triggers


def put_in_place(apps, schema_editor):
    triggers.drop(schema_editor.connection)
    triggers.create(schema_editor.connection)


def take_away(apps, schema_editor):
    triggers.drop(schema_editor.connection)
    triggers.create(schema_editor.connection, erasing=False)


class Migration(migrations.Migration):
    dependencies = [("records", "0002_append_only_triggers")]

    operations = [
        migrations.CreateModel(
            name="Erased",
            fields=[
                (
                    "record",
                    models.OneToOneField(
                        on_delete=django.db.models.deletion.PROTECT,
                        primary_key=True,
                        related_name="erased",
                        serialize=False,
                        to="records.record",
                    ),
                ),
                ("erased_on", models.DateField()),
                (
                    "evidence",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT, related_name="+", to="records.record"
                    ),
                ),
            ],
            options={"abstract": False},
        ),
        migrations.RunPython(put_in_place, take_away),
    ]
