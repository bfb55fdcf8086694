"""A business's own figures of time, the pace of clients, and factors of references at slow and paused tempos."""

import django.db.models.deletion
import django.db.models.manager
from django.db import migrations, models

import coaching.tenancy.models
import coaching.tenancy.scope
from coaching.tenancy.row_security import SecureByBusiness


class Migration(migrations.Migration):
    dependencies = [
        ("coaching", "0006_client_viewers"),
        ("programs", "0006_movement_holds"),
    ]

    operations = [
        migrations.AddField(
            model_name="referenceload",
            name="tempo_factors",
            field=models.JSONField(default=dict),
        ),
        migrations.CreateModel(
            name="BusinessTimeline",
            fields=[
                (
                    "id",
                    models.UUIDField(
                        default=coaching.tenancy.models.new_id, editable=False, primary_key=True, serialize=False
                    ),
                ),
                ("own", models.JSONField(default=dict)),
                ("row_version", models.PositiveIntegerField(default=1)),
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
            ],
            options={
                "abstract": False,
                "base_manager_name": "unscoped",
                "default_manager_name": "objects",
                "constraints": [models.UniqueConstraint(fields=("business",), name="business_timeline_one")],
            },
            managers=[
                ("objects", django.db.models.manager.Manager()),
                ("unscoped", django.db.models.manager.Manager()),
            ],
        ),
        migrations.CreateModel(
            name="SessionPace",
            fields=[
                (
                    "id",
                    models.UUIDField(
                        default=coaching.tenancy.models.new_id, editable=False, primary_key=True, serialize=False
                    ),
                ),
                ("ratio", models.DecimalField(blank=True, decimal_places=6, max_digits=12, null=True)),
                ("sessions", models.PositiveSmallIntegerField()),
                ("last_on", models.DateField()),
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
                "constraints": [models.UniqueConstraint(fields=("business", "client"), name="session_pace_client")],
            },
            managers=[
                ("objects", django.db.models.manager.Manager()),
                ("unscoped", django.db.models.manager.Manager()),
            ],
        ),
        SecureByBusiness("businesstimeline"),
        SecureByBusiness("sessionpace"),
    ]
