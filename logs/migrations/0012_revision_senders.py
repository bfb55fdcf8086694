"""Who sent what replaced an earlier state of a log."""

from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies = [("logs", "0011_round_folded")]

    operations = [
        migrations.AddField(model_name="logrevision", name="replaced_by", field=models.UUIDField(null=True)),
    ]
