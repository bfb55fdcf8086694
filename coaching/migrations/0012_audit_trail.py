"""The trail of who did what: read and added to, never changed."""

import django.contrib.postgres.fields
import django.db.models.deletion
import django.db.models.manager
from django.db import migrations, models

import coaching.tenancy.models
import coaching.tenancy.scope
from coaching.tenancy.row_security import GrantToService, SecureByBusiness

_KEEP = """
CREATE FUNCTION refuse_change_of_trail() RETURNS trigger LANGUAGE plpgsql SET search_path = pg_catalog AS $$
BEGIN RAISE EXCEPTION 'The audit trail is only ever added to.' USING ERRCODE = 'insufficient_privilege'; END $$;
CREATE TRIGGER only_added_to BEFORE UPDATE OR DELETE ON coaching_auditentry
  FOR EACH ROW EXECUTE FUNCTION refuse_change_of_trail();
"""
_DROP = "DROP TRIGGER only_added_to ON coaching_auditentry; DROP FUNCTION refuse_change_of_trail();"


class Migration(migrations.Migration):
    dependencies = [("coaching", "0011_negligible_strength_change")]

    operations = [
        migrations.CreateModel(
            name="AuditEntry",
            fields=[
                (
                    "id",
                    models.UUIDField(
                        default=coaching.tenancy.models.new_id, editable=False, primary_key=True, serialize=False
                    ),
                ),
                ("at", models.DateTimeField()),
                ("operation", models.CharField(max_length=60)),
                (
                    "actor_kind",
                    models.CharField(
                        choices=[
                            ("person", "Person"),
                            ("key", "Key"),
                            ("operator", "Operator"),
                        ],
                        max_length=8,
                    ),
                ),
                ("actor_id", models.UUIDField(null=True)),
                ("credential_id", models.UUIDField(null=True)),
                ("address", models.GenericIPAddressField(null=True)),
                ("request_id", models.CharField(blank=True, default="", max_length=64)),
                ("object_id", models.CharField(blank=True, default="", max_length=80)),
                (
                    "fields",
                    django.contrib.postgres.fields.ArrayField(
                        base_field=models.CharField(max_length=80), default=list, size=None
                    ),
                ),
                ("values", models.JSONField(default=dict)),
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
                "indexes": [
                    models.Index(fields=["business", "at", "id"], name="audit_entry_at"),
                    models.Index(fields=["business", "actor_id", "at", "id"], name="audit_entry_actor"),
                    models.Index(fields=["business", "object_id", "at", "id"], name="audit_entry_object"),
                ],
            },
            managers=[
                ("objects", django.db.models.manager.Manager()),
                ("unscoped", django.db.models.manager.Manager()),
            ],
        ),
        SecureByBusiness("auditentry"),
        GrantToService("SELECT, INSERT", "coaching_auditentry"),
        migrations.RunSQL(_KEEP, _DROP),
    ]
