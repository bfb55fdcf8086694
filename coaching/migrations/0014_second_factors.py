"""Second factors, sessions that are renewed and exchanged, and sign-ins that were refused."""

import django.db.models.deletion
import django.utils.timezone
from django.db import migrations, models

import coaching.tenancy.models
from coaching.tenancy.row_security import GrantToService, RevokeFromService

# Sessions that are open keep the id that they were listed by.
_NAME_OPEN_SESSIONS = """
UPDATE coaching_sessiontoken
SET session_id = substring(encode(sha256(convert_to(digest, 'UTF8')), 'hex') for 32)::uuid
"""


class Migration(migrations.Migration):
    dependencies = [
        ("coaching", "0013_invitations_resets_rotation"),
        ("knox", "0009_extend_authtoken_field"),
    ]

    operations = [
        migrations.CreateModel(
            name="SecondFactor",
            fields=[
                (
                    "person",
                    models.OneToOneField(
                        on_delete=django.db.models.deletion.CASCADE,
                        primary_key=True,
                        related_name="+",
                        serialize=False,
                        to="coaching.person",
                    ),
                ),
                ("sealed_secret", models.TextField()),
                ("started_at", models.DateTimeField()),
                ("confirmed_at", models.DateTimeField(blank=True, null=True)),
                ("last_step", models.BigIntegerField(blank=True, null=True)),
            ],
        ),
        migrations.CreateModel(
            name="RecoveryCode",
            fields=[
                (
                    "id",
                    models.UUIDField(
                        default=coaching.tenancy.models.new_id, editable=False, primary_key=True, serialize=False
                    ),
                ),
                ("digest", models.CharField(max_length=64)),
                (
                    "person",
                    models.ForeignKey(
                        db_index=False,
                        on_delete=django.db.models.deletion.CASCADE,
                        related_name="+",
                        to="coaching.person",
                    ),
                ),
            ],
            options={
                "constraints": [
                    models.UniqueConstraint(fields=("person", "digest"), name="recovery_code_digest"),
                ],
            },
        ),
        GrantToService("SELECT, INSERT, UPDATE, DELETE", "coaching_secondfactor"),
        GrantToService("SELECT, INSERT, DELETE", "coaching_recoverycode"),
        # The token library's own table stays empty: sessions are coaching_sessiontoken.
        RevokeFromService("knox_authtoken"),
        migrations.AddField(
            model_name="business",
            name="second_factor_required",
            field=models.CharField(
                choices=[("none", "None"), ("staff", "Staff"), ("everyone", "Everyone")],
                db_default="none",
                default="none",
                max_length=8,
            ),
        ),
        migrations.AddField(
            model_name="sessiontoken",
            name="address",
            field=models.GenericIPAddressField(blank=True, null=True),
        ),
        migrations.AddField(
            model_name="sessiontoken",
            name="last_used_at",
            field=models.DateTimeField(default=django.utils.timezone.now),
        ),
        migrations.AddField(
            model_name="sessiontoken",
            name="session_id",
            field=models.UUIDField(default=None, editable=False, null=True),
        ),
        migrations.RunSQL(_NAME_OPEN_SESSIONS, migrations.RunSQL.noop),
        migrations.AlterField(
            model_name="sessiontoken",
            name="session_id",
            field=models.UUIDField(default=coaching.tenancy.models.new_id, editable=False, unique=True),
        ),
        migrations.AddField(
            model_name="signinattempt",
            name="credential_id",
            field=models.UUIDField(null=True),
        ),
        migrations.AddField(
            model_name="signinattempt",
            name="person_id",
            field=models.UUIDField(null=True),
        ),
        migrations.AddField(
            model_name="signinattempt",
            name="refused",
            field=models.CharField(
                blank=True,
                choices=[
                    ("wrong_password", "Wrong Password"),
                    ("wrong_code", "Wrong Code"),
                    ("not_let_in", "Not Let In"),
                    ("code_missing", "Code Missing"),
                    ("throttled", "Throttled"),
                ],
                db_default="",
                default="",
                max_length=16,
            ),
        ),
        migrations.AddField(
            model_name="signinattempt",
            name="request_id",
            field=models.CharField(blank=True, db_default="", default="", max_length=64),
        ),
        migrations.AddField(
            model_name="signinattempt",
            name="times",
            field=models.PositiveIntegerField(db_default=1, default=1),
        ),
        migrations.AddField(
            model_name="signinattempt",
            name="told",
            field=models.BooleanField(db_default=False, default=False),
        ),
        migrations.AddIndex(
            model_name="signinattempt",
            index=models.Index(
                condition=models.Q(
                    ("person_id__isnull", False), ("told", False), models.Q(("refused", ""), _negated=True)
                ),
                fields=["at"],
                name="sign_in_attempt_untold",
            ),
        ),
        migrations.AddIndex(
            model_name="signinattempt",
            index=models.Index(fields=["person_id", "at"], name="sign_in_attempt_person"),
        ),
        migrations.AlterField(
            model_name="auditentry",
            name="actor_kind",
            field=models.CharField(
                choices=[
                    ("person", "Person"),
                    ("key", "Key"),
                    ("operator", "Operator"),
                    ("unknown", "Unknown"),
                ],
                max_length=8,
            ),
        ),
    ]
