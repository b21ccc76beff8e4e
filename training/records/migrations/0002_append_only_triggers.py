"""From here on the database itself refuses to change or delete a record."""

from django.db import migrations

from training.records import triggers


def put_in_place(apps, schema_editor):
    triggers.create(schema_editor.connection, erasing=False)


def take_away(apps, schema_editor):
    triggers.drop(schema_editor.connection)


class Migration(migrations.Migration):
    dependencies = [("records", "0001_chains_and_records")]

    operations = [migrations.RunPython(put_in_place, take_away)]
