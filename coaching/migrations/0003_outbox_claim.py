"""A claim finds its business's next message at once, whatever backlog others have."""

from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies = [
        ("coaching", "0002_row_security"),
    ]

    operations = [
        migrations.RemoveIndex(
            model_name="outboxmessage",
            name="outbox_message_due",
        ),
        migrations.AddIndex(
            model_name="outboxmessage",
            index=models.Index(
                condition=models.Q(("state__in", ["queued", "sending", "retrying"])),
                fields=["business", "due_at", "id"],
                name="outbox_message_due",
            ),
        ),
    ]
