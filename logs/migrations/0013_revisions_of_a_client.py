"""A client's revisions are found by an index: an erasure need not read the whole business's."""

from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies = [("logs", "0012_revision_senders")]

    operations = [
        migrations.AddIndex(
            model_name="logrevision",
            index=models.Index(fields=["business", "client"], name="log_revision_client"),
        ),
    ]
