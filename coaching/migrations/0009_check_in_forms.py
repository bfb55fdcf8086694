"""The business's own questions for check-ins."""

import django.db.models.deletion
import django.db.models.manager
from django.db import migrations, models

import coaching.tenancy.models
import coaching.tenancy.scope
from coaching.tenancy.row_security import SecureByBusiness


class Migration(migrations.Migration):
    dependencies = [
        ("coaching", "0008_reconciled_at"),
    ]

    operations = [
        migrations.CreateModel(
            name="CheckInForm",
            fields=[
                (
                    "id",
                    models.UUIDField(
                        default=coaching.tenancy.models.new_id, editable=False, primary_key=True, serialize=False
                    ),
                ),
                ("name", models.CharField(max_length=120)),
                ("cadence", models.CharField(choices=[("daily", "Daily"), ("weekly", "Weekly")], max_length=6)),
                ("version", models.PositiveIntegerField(default=1)),
                ("questions", models.JSONField()),
                ("retired", models.BooleanField(default=False)),
                ("row_version", models.PositiveIntegerField(default=1)),
                ("created_at", models.DateTimeField(auto_now_add=True)),
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
            },
            managers=[
                ("objects", django.db.models.manager.Manager()),
                ("unscoped", django.db.models.manager.Manager()),
            ],
        ),
        migrations.CreateModel(
            name="CheckInFormVersion",
            fields=[
                (
                    "id",
                    models.UUIDField(
                        default=coaching.tenancy.models.new_id, editable=False, primary_key=True, serialize=False
                    ),
                ),
                ("number", models.PositiveIntegerField()),
                ("questions", models.JSONField()),
                ("created_at", models.DateTimeField(auto_now_add=True)),
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
                    "form",
                    models.ForeignKey(
                        db_constraint=False,
                        db_index=False,
                        on_delete=django.db.models.deletion.CASCADE,
                        related_name="versions",
                        to="coaching.checkinform",
                    ),
                ),
            ],
            options={
                "abstract": False,
                "base_manager_name": "unscoped",
                "default_manager_name": "objects",
            },
            managers=[
                ("objects", django.db.models.manager.Manager()),
                ("unscoped", django.db.models.manager.Manager()),
            ],
        ),
        migrations.AddConstraint(
            model_name="checkinform",
            constraint=models.UniqueConstraint(fields=("business", "id"), name="check_in_form_business_id"),
        ),
        migrations.AddConstraint(
            model_name="checkinform",
            constraint=models.UniqueConstraint(fields=("business", "name"), name="check_in_form_name"),
        ),
        migrations.AddConstraint(
            model_name="checkinformversion",
            constraint=models.UniqueConstraint(fields=("business", "form", "number"), name="check_in_form_version"),
        ),
        SecureByBusiness("checkinform"),
        SecureByBusiness("checkinformversion"),
    ]
