"""The one rounding, no longer strict: so the planner writes it into a statement, at a fifteenth of a call's price."""

from django.db import migrations

_ROUND = (
    "CREATE OR REPLACE FUNCTION round_half_even(value numeric, places integer) RETURNS numeric "
    "LANGUAGE sql IMMUTABLE{strict} PARALLEL SAFE AS $$ "
    "SELECT CASE WHEN abs(value - trunc(value, places)) = ('5e-' || (places + 1))::numeric "
    "AND trunc(value, places) % ('2e-' || places)::numeric = 0 "
    "THEN trunc(value, places) ELSE round(value, places) END $$"
)


class Migration(migrations.Migration):
    dependencies = [("logs", "0009_weekly_columns")]

    operations = [migrations.RunSQL(_ROUND.format(strict=""), _ROUND.format(strict=" STRICT"))]
