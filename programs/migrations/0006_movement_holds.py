"""What clients are to leave out for pain."""

import django.db.models.deletion
import django.db.models.manager
from django.db import migrations, models

import coaching.tenancy.models
import coaching.tenancy.scope
from coaching.tenancy.row_security import SecureByBusiness


class Migration(migrations.Migration):
    dependencies = [
        ("coaching", "0006_client_viewers"),
        ("programs", "0005_alerts_from"),
    ]

    operations = [
        migrations.CreateModel(
            name="MovementHold",
            fields=[
                (
                    "id",
                    models.UUIDField(
                        default=coaching.tenancy.models.new_id, editable=False, primary_key=True, serialize=False
                    ),
                ),
                ("flag_id", models.UUIDField()),
                ("scope", models.CharField(max_length=80)),
                (
                    "action",
                    models.CharField(
                        choices=[
                            ("no_increase", "No Increase"),
                            ("stop_movement", "Stop Movement"),
                            ("stop_training", "Stop Training"),
                        ],
                        max_length=13,
                    ),
                ),
                ("from_date", models.DateField()),
                ("released_at", models.DateTimeField(blank=True, null=True)),
                (
                    "business",
                    models.ForeignKey(
                        db_constraint=False,
                        db_index=False,
                        default=coaching.tenancy.scope.current_business_id,
                        editable=False,
                        on_delete=django.db.models.deletion.CASCADE,
                        related_name="+",
                        to="coaching.business",
                    ),
                ),
                (
                    "client",
                    models.ForeignKey(
                        db_constraint=False,
                        db_index=False,
                        on_delete=django.db.models.deletion.CASCADE,
                        related_name="+",
                        to="coaching.client",
                    ),
                ),
            ],
            options={
                "abstract": False,
                "base_manager_name": "unscoped",
                "default_manager_name": "objects",
                "indexes": [
                    models.Index(
                        condition=models.Q(("released_at__isnull", True)),
                        fields=["business", "client"],
                        name="movement_hold_standing",
                    )
                ],
                "constraints": [
                    models.UniqueConstraint(fields=("business", "flag_id", "scope"), name="movement_hold_scope")
                ],
            },
            managers=[
                ("objects", django.db.models.manager.Manager()),
                ("unscoped", django.db.models.manager.Manager()),
            ],
        ),
        SecureByBusiness("movementhold"),
    ]
