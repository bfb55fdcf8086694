"""Attempts to sign in, outside any business."""

from django.db import migrations, models

import coaching.tenancy.models
from coaching.tenancy.row_security import GrantToService


class Migration(migrations.Migration):
    dependencies = [("coaching", "0009_check_in_forms")]

    operations = [
        migrations.CreateModel(
            name="SignInAttempt",
            fields=[
                (
                    "id",
                    models.UUIDField(
                        default=coaching.tenancy.models.new_id, editable=False, primary_key=True, serialize=False
                    ),
                ),
                ("account_digest", models.CharField(max_length=64)),
                ("address", models.GenericIPAddressField()),
                ("succeeded", models.BooleanField(default=False)),
                ("at", models.DateTimeField()),
            ],
            options={
                "indexes": [
                    models.Index(fields=["account_digest", "at"], name="sign_in_attempt_account"),
                    models.Index(fields=["address", "at"], name="sign_in_attempt_address"),
                    models.Index(fields=["at"], name="sign_in_attempt_at"),
                ],
            },
        ),
        GrantToService("SELECT, INSERT, UPDATE, DELETE", "coaching_signinattempt"),
    ]
