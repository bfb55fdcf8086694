"""What weekly figures and flags need: the one rounding, and the day on which each client's rules were last asked."""

import django.db.models.deletion
import django.db.models.manager
from django.db import migrations, models

import coaching.tenancy.models
import coaching.tenancy.scope
from coaching.tenancy.row_security import GrantToService, SecureByBusiness


class Migration(migrations.Migration):
    dependencies = [
        ("coaching", "0002_row_security"),
        ("logs", "0003_open_alerts"),
        ("programs", "0003_planned_session_absence"),
    ]

    operations = [
        migrations.CreateModel(
            name="FlagEvaluation",
            fields=[
                (
                    "id",
                    models.UUIDField(
                        default=coaching.tenancy.models.new_id, editable=False, primary_key=True, serialize=False
                    ),
                ),
                ("local_date", models.DateField()),
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
            },
            managers=[
                ("objects", django.db.models.manager.Manager()),
                ("unscoped", django.db.models.manager.Manager()),
            ],
        ),
        migrations.AddIndex(
            model_name="setlog",
            index=models.Index(
                condition=models.Q(("symptoms", []), _negated=True),
                fields=["business", "client", "local_date"],
                name="set_log_symptoms",
            ),
        ),
        migrations.AddConstraint(
            model_name="flagevaluation",
            constraint=models.UniqueConstraint(fields=("business", "client"), name="flag_evaluation_client"),
        ),
        SecureByBusiness("flagevaluation", constrain_business=False),
        # As `round_half_even_6` of logs/analysis/rounding.py. round() takes a half away from zero: so on an even
        # last digit the tie is cut off, on an odd one it is rounded to the even next.
        migrations.RunSQL(
            "CREATE FUNCTION round_half_even(value numeric, places integer) RETURNS numeric "
            "LANGUAGE sql IMMUTABLE STRICT PARALLEL SAFE AS $$ "
            "SELECT CASE WHEN abs(value - trunc(value, places)) = ('5e-' || (places + 1))::numeric "
            "AND trunc(value, places) % ('2e-' || places)::numeric = 0 "
            "THEN trunc(value, places) ELSE round(value, places) END $$",
            "DROP FUNCTION round_half_even(numeric, integer)",
        ),
        GrantToService("EXECUTE", "FUNCTION round_half_even(numeric, integer)"),
    ]
