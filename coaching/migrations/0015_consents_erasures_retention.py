"""Consents and their words, who was erased, and how long a business keeps what it holds."""

import django.contrib.postgres.fields
import django.db.models.deletion
import django.db.models.manager
from django.db import migrations, models

import coaching.tenancy.models
import coaching.tenancy.scope
from coaching.tenancy.row_security import GrantToService, SecureByBusiness

# A consent is withdrawn once, and nothing else of it ever changes.
_KEEP = """
CREATE FUNCTION refuse_change_of_consent() RETURNS trigger LANGUAGE plpgsql SET search_path = pg_catalog AS $$
BEGIN
  IF OLD.withdrawn_at IS NOT NULL OR NEW.withdrawn_at IS NULL
    OR (NEW.id, NEW.business_id, NEW.client_id, NEW.text_id, NEW.given_on, NEW.given_how, NEW.recorded_by,
        NEW.recorded_at)
    IS DISTINCT FROM
       (OLD.id, OLD.business_id, OLD.client_id, OLD.text_id, OLD.given_on, OLD.given_how, OLD.recorded_by,
        OLD.recorded_at)
  THEN RAISE EXCEPTION 'A consent is only ever withdrawn, once.' USING ERRCODE = 'insufficient_privilege'; END IF;
  RETURN NEW;
END $$;
CREATE TRIGGER only_withdrawn BEFORE UPDATE ON coaching_consent
  FOR EACH ROW EXECUTE FUNCTION refuse_change_of_consent();
"""
_DROP = "DROP TRIGGER only_withdrawn ON coaching_consent; DROP FUNCTION refuse_change_of_consent();"

# The service never deletes an account by itself: this takes only one that is in no business any more.
_FORGET = "forget_account(wanted uuid)"
_FORGET_ACCOUNT = f"""
CREATE FUNCTION {_FORGET} RETURNS boolean LANGUAGE sql VOLATILE SECURITY DEFINER
SET search_path = pg_catalog, public, pg_temp AS $$
  WITH gone AS (DELETE FROM coaching_person p WHERE p.id = wanted
    AND NOT EXISTS (SELECT FROM coaching_membership m WHERE m.person_id = wanted) RETURNING 1)
  SELECT EXISTS (SELECT FROM gone) $$;
REVOKE ALL ON FUNCTION {_FORGET} FROM PUBLIC;
"""


class Migration(migrations.Migration):
    dependencies = [
        ("coaching", "0014_second_factors"),
    ]

    operations = [
        migrations.AddField(
            model_name="client",
            name="ended_at",
            field=models.DateTimeField(blank=True, null=True),
        ),
        migrations.AddField(
            model_name="idempotentanswer",
            name="named",
            field=django.contrib.postgres.fields.ArrayField(
                base_field=models.UUIDField(), db_default=[], default=list, size=None
            ),
        ),
        migrations.CreateModel(
            name="ConsentText",
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
                            ("health_data", "Health Data"),
                            ("photos_and_video", "Photos And Video"),
                            ("messages", "Messages"),
                            ("sharing", "Sharing"),
                            ("other", "Other"),
                        ],
                        max_length=16,
                    ),
                ),
                ("version", models.PositiveIntegerField()),
                ("text", models.TextField()),
                ("text_sha256", models.CharField(max_length=64)),
                ("created_by", models.UUIDField()),
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
            name="Consent",
            fields=[
                (
                    "id",
                    models.UUIDField(
                        default=coaching.tenancy.models.new_id, editable=False, primary_key=True, serialize=False
                    ),
                ),
                ("given_on", models.DateField()),
                (
                    "given_how",
                    models.CharField(
                        choices=[("in_account", "In Account"), ("on_paper", "On Paper"), ("spoken", "Spoken")],
                        max_length=10,
                    ),
                ),
                ("recorded_by", models.UUIDField()),
                ("recorded_at", models.DateTimeField()),
                ("withdrawn_on", models.DateField(blank=True, null=True)),
                (
                    "withdrawn_how",
                    models.CharField(
                        blank=True,
                        choices=[("in_account", "In Account"), ("on_paper", "On Paper"), ("spoken", "Spoken")],
                        default="",
                        max_length=10,
                    ),
                ),
                ("withdrawn_by", models.UUIDField(blank=True, null=True)),
                ("withdrawn_at", models.DateTimeField(blank=True, null=True)),
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
                        related_name="consents",
                        to="coaching.client",
                    ),
                ),
                (
                    "text",
                    models.ForeignKey(
                        db_constraint=False,
                        db_index=False,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="+",
                        to="coaching.consenttext",
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
            name="Erasure",
            fields=[
                (
                    "id",
                    models.UUIDField(
                        default=coaching.tenancy.models.new_id, editable=False, primary_key=True, serialize=False
                    ),
                ),
                ("client_id", models.UUIDField()),
                ("erased_at", models.DateTimeField()),
                ("erased_by", models.UUIDField(null=True)),
                ("coach_id", models.UUIDField(null=True)),
                (
                    "key_ids",
                    django.contrib.postgres.fields.ArrayField(base_field=models.UUIDField(), default=list, size=None),
                ),
                ("counts", models.JSONField(default=dict)),
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
            name="RetentionPolicy",
            fields=[
                (
                    "id",
                    models.UUIDField(
                        default=coaching.tenancy.models.new_id, editable=False, primary_key=True, serialize=False
                    ),
                ),
                ("ended_client_months", models.PositiveSmallIntegerField(blank=True, null=True)),
                ("held_item_days", models.PositiveSmallIntegerField(default=30)),
                ("log_import_days", models.PositiveSmallIntegerField(default=7)),
                ("log_batch_days", models.PositiveSmallIntegerField(default=365)),
                ("mail_body_days", models.PositiveSmallIntegerField(default=90)),
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
            },
            managers=[
                ("objects", django.db.models.manager.Manager()),
                ("unscoped", django.db.models.manager.Manager()),
            ],
        ),
        migrations.AddConstraint(
            model_name="consenttext",
            constraint=models.UniqueConstraint(fields=("business", "id"), name="consent_text_business_id"),
        ),
        migrations.AddConstraint(
            model_name="consenttext",
            constraint=models.UniqueConstraint(fields=("business", "kind", "version"), name="consent_text_version"),
        ),
        migrations.AddIndex(
            model_name="consent",
            index=models.Index(fields=["business", "client", "recorded_at", "id"], name="consent_client"),
        ),
        migrations.AddConstraint(
            model_name="consent",
            constraint=models.UniqueConstraint(fields=("business", "id"), name="consent_business_id"),
        ),
        migrations.AddConstraint(
            model_name="consent",
            constraint=models.UniqueConstraint(
                condition=models.Q(("withdrawn_at", None)),
                fields=("business", "client", "text"),
                name="consent_one_standing",
            ),
        ),
        migrations.AddIndex(
            model_name="erasure",
            index=models.Index(fields=["business", "erased_at", "id"], name="erasure_at"),
        ),
        migrations.AddConstraint(
            model_name="erasure",
            constraint=models.UniqueConstraint(fields=("business", "client_id"), name="erasure_client"),
        ),
        migrations.AddConstraint(
            model_name="retentionpolicy",
            constraint=models.UniqueConstraint(fields=("business",), name="retention_policy_one"),
        ),
        SecureByBusiness("consenttext"),
        GrantToService("SELECT, INSERT", "coaching_consenttext"),
        SecureByBusiness("consent"),
        SecureByBusiness("erasure"),
        GrantToService("SELECT, INSERT", "coaching_erasure"),
        SecureByBusiness("retentionpolicy"),
        migrations.RunSQL(_KEEP, _DROP),
        migrations.RunSQL(_FORGET_ACCOUNT, f"DROP FUNCTION {_FORGET}"),
        GrantToService("EXECUTE", f"FUNCTION {_FORGET}"),
    ]
