"""From when on missed sessions of an assignment are told of."""

from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies = [("programs", "0004_session_changes")]

    operations = [
        migrations.AddField("assignment", "alerts_from", models.DateTimeField(blank=True, null=True)),
    ]
