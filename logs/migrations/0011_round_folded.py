"""The one rounding by arithmetic alone: text put together is never written into a statement, and a call costs as much
as ten sums."""

from django.db import migrations

_ROUND = (
    "CREATE OR REPLACE FUNCTION round_half_even(value numeric, places integer) RETURNS numeric "
    "LANGUAGE sql IMMUTABLE PARALLEL SAFE AS $$ "
    "SELECT CASE WHEN abs(value - trunc(value, places)) = {half} AND trunc(value, places) % ({even}) = 0 "
    "THEN trunc(value, places) ELSE round(value, places) END $$"
)


class Migration(migrations.Migration):
    dependencies = [("logs", "0010_round_inline")]

    operations = [
        migrations.RunSQL(
            _ROUND.format(half="5 / 10::numeric ^ (places + 1)", even="2 / 10::numeric ^ places"),
            _ROUND.format(half="('5e-' || (places + 1))::numeric", even="('2e-' || places)::numeric"),
        )
    ]
