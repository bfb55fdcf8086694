"""Which viewers may read a client."""

from django.contrib.postgres.fields import ArrayField
from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies = [("coaching", "0005_stale_week_claims")]

    operations = [migrations.AddField("client", "viewers", ArrayField(models.UUIDField(), default=list))]
