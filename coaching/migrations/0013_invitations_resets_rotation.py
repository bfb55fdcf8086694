"""Invitations, requests for a new password, and keys whose secret is exchanged with an overlap."""

import django.contrib.postgres.fields
import django.db.models.deletion
import django.db.models.manager
from django.conf import settings
from django.db import migrations, models

import coaching.tenancy.models
import coaching.tenancy.scope
from coaching.tenancy.row_security import GrantToService, SecureByBusiness

_SIGNATURE = "resolve_api_key(wanted varchar)"
_COLUMNS = {
    "id": "uuid",
    "business_id": "uuid",
    "digest": "varchar",
    "scopes": "varchar[]",
    "source": "varchar",
    "client_ids": "uuid[]",
    "expires_at": "timestamptz",
    "revoked_at": "timestamptz",
    "last_used_at": "timestamptz",
}
_PREVIOUS = {
    "previous_digest": "varchar",
    "previous_ends_at": "timestamptz",
    "previous_last_used_at": "timestamptz",
}


def _look_up(columns: dict[str, str]) -> str:
    """Return the statements that make the look-up of a key by its prefix."""
    returned = ", ".join(f"{name} {kind}" for name, kind in columns.items())
    read = ", ".join(f"k.{name}" for name in columns)
    return (
        f"CREATE FUNCTION {_SIGNATURE} RETURNS TABLE ({returned}) LANGUAGE sql STABLE SECURITY DEFINER "
        f"SET search_path = pg_catalog, public, pg_temp AS $$ SELECT {read} FROM coaching_apikey k "
        f"JOIN coaching_business b ON b.id = k.business_id WHERE k.prefix = wanted AND b.state = 'active' $$;"
        f"REVOKE ALL ON FUNCTION {_SIGNATURE} FROM PUBLIC"
    )


class Migration(migrations.Migration):
    dependencies = [
        ("coaching", "0012_audit_trail"),
    ]

    operations = [
        migrations.AddField(
            model_name="apikey",
            name="previous_digest",
            field=models.CharField(blank=True, default="", max_length=64),
        ),
        migrations.AddField(
            model_name="apikey",
            name="previous_ends_at",
            field=models.DateTimeField(blank=True, null=True),
        ),
        migrations.AddField(
            model_name="apikey",
            name="previous_last_used_at",
            field=models.DateTimeField(blank=True, null=True),
        ),
        migrations.AddField(
            model_name="apikey",
            name="rotated_at",
            field=models.DateTimeField(blank=True, null=True),
        ),
        migrations.AddField(
            model_name="person",
            name="password_is_provisional",
            field=models.BooleanField(default=False),
        ),
        migrations.CreateModel(
            name="Invitation",
            fields=[
                (
                    "id",
                    models.UUIDField(
                        default=coaching.tenancy.models.new_id, editable=False, primary_key=True, serialize=False
                    ),
                ),
                ("email", models.EmailField(max_length=254)),
                (
                    "role",
                    models.CharField(
                        choices=[
                            ("owner", "Owner"),
                            ("head_coach", "Head Coach"),
                            ("coach", "Coach"),
                            ("viewer", "Viewer"),
                            ("client", "Client"),
                        ],
                        max_length=10,
                    ),
                ),
                ("sends", models.PositiveSmallIntegerField(default=1)),
                ("sent_at", django.contrib.postgres.fields.ArrayField(base_field=models.DateTimeField(), size=None)),
                ("last_sent_at", models.DateTimeField()),
                ("expires_at", models.DateTimeField()),
                ("accepted_at", models.DateTimeField(blank=True, null=True)),
                ("withdrawn_at", models.DateTimeField(blank=True, null=True)),
                ("created_at", models.DateTimeField()),
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
                (
                    "invited_by",
                    models.ForeignKey(
                        db_constraint=False,
                        db_index=False,
                        null=True,
                        on_delete=django.db.models.deletion.SET_NULL,
                        related_name="+",
                        to="coaching.membership",
                    ),
                ),
            ],
            options={
                "abstract": False,
                "base_manager_name": "unscoped",
                "default_manager_name": "objects",
                "indexes": [
                    models.Index(fields=["business", "created_at", "id"], name="invitation_created"),
                    models.Index(fields=["business", "last_sent_at"], name="invitation_sent"),
                    models.Index(fields=["business", "client"], name="invitation_client"),
                ],
                "constraints": [
                    models.UniqueConstraint(fields=("business", "id"), name="invitation_business_id"),
                    models.CheckConstraint(
                        condition=models.Q(
                            models.Q(("client__isnull", False), ("role", "client")),
                            models.Q(models.Q(("role", "client"), _negated=True), ("client", None)),
                            _connector="OR",
                        ),
                        name="invitation_client_is_of_clients",
                    ),
                ],
            },
            managers=[
                ("objects", django.db.models.manager.Manager()),
                ("unscoped", django.db.models.manager.Manager()),
            ],
        ),
        migrations.CreateModel(
            name="PasswordReset",
            fields=[
                (
                    "id",
                    models.UUIDField(
                        default=coaching.tenancy.models.new_id, editable=False, primary_key=True, serialize=False
                    ),
                ),
                ("account_digest", models.CharField(max_length=64)),
                ("address", models.GenericIPAddressField()),
                ("requested_at", models.DateTimeField()),
                ("expires_at", models.DateTimeField()),
                ("ended_at", models.DateTimeField(blank=True, null=True)),
                ("queued_at", models.DateTimeField(blank=True, null=True)),
                (
                    "person",
                    models.ForeignKey(
                        db_index=False,
                        null=True,
                        on_delete=django.db.models.deletion.CASCADE,
                        related_name="+",
                        to="coaching.person",
                    ),
                ),
            ],
            options={
                "indexes": [
                    models.Index(fields=["account_digest", "requested_at"], name="password_reset_account"),
                    models.Index(fields=["address", "requested_at"], name="password_reset_address"),
                    models.Index(
                        condition=models.Q(("ended_at", None)), fields=["person"], name="password_reset_person"
                    ),
                    models.Index(
                        condition=models.Q(("person__isnull", False), ("queued_at", None)),
                        fields=["requested_at"],
                        name="password_reset_waiting",
                    ),
                ],
            },
        ),
        SecureByBusiness("invitation"),
        GrantToService("SELECT, INSERT, UPDATE, DELETE", "coaching_passwordreset"),
        migrations.RunSQL(
            f"DROP FUNCTION {_SIGNATURE}; {_look_up(_COLUMNS | _PREVIOUS)}",
            f"DROP FUNCTION {_SIGNATURE}; {_look_up(_COLUMNS)}; "
            f'GRANT EXECUTE ON FUNCTION {_SIGNATURE} TO "{settings.SERVICE_ROLE}"',
        ),
        GrantToService("EXECUTE", f"FUNCTION {_SIGNATURE}"),
    ]
