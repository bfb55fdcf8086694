"""A week that can't be computed is set aside; the look-up passes over those that were given up."""

from django.db import migrations, models

_LOOKUP = (
    "CREATE OR REPLACE FUNCTION businesses_with_stale_weeks() RETURNS SETOF uuid LANGUAGE sql STABLE "
    "SECURITY DEFINER SET search_path = pg_catalog, public, pg_temp AS $$ "
    "SELECT s.business_id FROM coaching_staleweek s JOIN coaching_business b ON b.id = s.business_id "
    "WHERE b.state = 'active' AND (s.claimed_until IS NULL OR s.claimed_until < clock_timestamp()){} "
    "GROUP BY s.business_id ORDER BY min(s.marked_at) $$"
)
_NOT_GIVEN_UP = " AND s.failures < 5"


class Migration(migrations.Migration):
    dependencies = [("coaching", "0006_client_viewers")]

    operations = [
        migrations.AddField("staleweek", "failures", models.PositiveSmallIntegerField(default=0, db_default=0)),
        migrations.RunSQL(_LOOKUP.format(_NOT_GIVEN_UP), _LOOKUP.format("")),
    ]
