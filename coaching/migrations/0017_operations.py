"""Long work with its files, what the service itself writes into the trail, and the trail's further filters."""

import django.db.models.deletion
import django.db.models.manager
from django.db import migrations, models

import coaching.tenancy.models
import coaching.tenancy.scope
from coaching.tenancy.row_security import GrantToService, SecureByBusiness

_DUE = "businesses_with_due_operations(by_instant timestamptz)"
_CREATE = f"""
CREATE FUNCTION {_DUE} RETURNS SETOF uuid LANGUAGE sql STABLE SECURITY DEFINER
SET search_path = pg_catalog, public, pg_temp AS $$
  SELECT b.id FROM coaching_business b JOIN coaching_operation o ON o.business_id = b.id
  WHERE b.state = 'active' AND (o.state = 'queued' OR (o.state = 'running' AND o.lease_until < clock_timestamp())
    OR (o.size_bytes > 0 AND o.expires_at <= by_instant))
  GROUP BY b.id ORDER BY min(o.created_at), b.id $$;
REVOKE ALL ON FUNCTION {_DUE} FROM PUBLIC;
"""


class Migration(migrations.Migration):
    dependencies = [
        ("coaching", "0016_allowed_origins"),
    ]

    operations = [
        migrations.CreateModel(
            name="Operation",
            fields=[
                (
                    "id",
                    models.UUIDField(
                        default=coaching.tenancy.models.new_id, editable=False, primary_key=True, serialize=False
                    ),
                ),
                (
                    "kind",
                    models.CharField(
                        choices=[
                            ("client_export", "Client Export"),
                            ("business_export", "Business Export"),
                            ("audit_export", "Audit Export"),
                        ],
                        max_length=16,
                    ),
                ),
                (
                    "state",
                    models.CharField(
                        choices=[
                            ("queued", "Queued"),
                            ("running", "Running"),
                            ("succeeded", "Succeeded"),
                            ("failed", "Failed"),
                            ("cancelled", "Cancelled"),
                        ],
                        default="queued",
                        max_length=9,
                    ),
                ),
                ("wanted", models.JSONField(default=dict)),
                ("requested_by", models.UUIDField()),
                ("requested_as", models.CharField(max_length=10)),
                ("progress", models.DecimalField(decimal_places=3, default=0, max_digits=4)),
                ("problem", models.CharField(blank=True, default="", max_length=200)),
                ("attempts", models.PositiveSmallIntegerField(default=0)),
                ("lease_token", models.UUIDField(null=True)),
                ("lease_until", models.DateTimeField(null=True)),
                ("file_name", models.CharField(blank=True, default="", max_length=120)),
                ("size_bytes", models.BigIntegerField(default=0)),
                ("created_at", models.DateTimeField()),
                ("ended_at", models.DateTimeField(null=True)),
                ("expires_at", models.DateTimeField(null=True)),
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
                        null=True,
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
            },
            managers=[
                ("objects", django.db.models.manager.Manager()),
                ("unscoped", django.db.models.manager.Manager()),
            ],
        ),
        migrations.CreateModel(
            name="OperationPart",
            fields=[
                (
                    "id",
                    models.UUIDField(
                        default=coaching.tenancy.models.new_id, editable=False, primary_key=True, serialize=False
                    ),
                ),
                ("number", models.PositiveIntegerField()),
                ("content", models.BinaryField()),
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
                    "operation",
                    models.ForeignKey(
                        db_constraint=False,
                        db_index=False,
                        on_delete=django.db.models.deletion.CASCADE,
                        related_name="parts",
                        to="coaching.operation",
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
        migrations.AlterField(
            model_name="auditentry",
            name="actor_kind",
            field=models.CharField(
                choices=[
                    ("person", "Person"),
                    ("key", "Key"),
                    ("operator", "Operator"),
                    ("service", "Service"),
                    ("unknown", "Unknown"),
                ],
                max_length=8,
            ),
        ),
        migrations.AddIndex(
            model_name="auditentry",
            index=models.Index(fields=["business", "operation", "at", "id"], name="audit_entry_operation"),
        ),
        migrations.AddIndex(
            model_name="auditentry",
            index=models.Index(fields=["business", "address", "at", "id"], name="audit_entry_address"),
        ),
        migrations.AddIndex(
            model_name="operation",
            index=models.Index(
                condition=models.Q(("state__in", ["queued", "running"])),
                fields=["business", "created_at", "id"],
                name="operation_due",
            ),
        ),
        migrations.AddIndex(
            model_name="operation",
            index=models.Index(fields=["business", "kind", "created_at"], name="operation_asked"),
        ),
        migrations.AddIndex(
            model_name="operation",
            index=models.Index(fields=["business", "client"], name="operation_client"),
        ),
        migrations.AddIndex(
            model_name="operation",
            index=models.Index(
                condition=models.Q(("size_bytes__gt", 0)), fields=["business", "expires_at"], name="operation_expiry"
            ),
        ),
        migrations.AddConstraint(
            model_name="operation",
            constraint=models.UniqueConstraint(fields=("business", "id"), name="operation_business_id"),
        ),
        migrations.AddConstraint(
            model_name="operationpart",
            constraint=models.UniqueConstraint(
                fields=("business", "operation", "number"), name="operation_part_number"
            ),
        ),
        SecureByBusiness("operation"),
        SecureByBusiness("operationpart", constrain_business=False),
        migrations.RunSQL(
            "CREATE POLICY lookup ON coaching_operation FOR SELECT TO CURRENT_USER USING (true)",
            "DROP POLICY lookup ON coaching_operation",
        ),
        migrations.RunSQL(_CREATE, f"DROP FUNCTION {_DUE}"),
        GrantToService("EXECUTE", f"FUNCTION {_DUE}"),
    ]
