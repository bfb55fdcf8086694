"""Stale weeks are claimed by lease; the look-up passes over those that are."""

from django.db import migrations, models

_LOOKUP = (
    "CREATE OR REPLACE FUNCTION businesses_with_stale_weeks() RETURNS SETOF uuid LANGUAGE sql STABLE "
    "SECURITY DEFINER SET search_path = pg_catalog, public, pg_temp AS $$ "
    "SELECT s.business_id FROM coaching_staleweek s JOIN coaching_business b ON b.id = s.business_id "
    "WHERE b.state = 'active'{} GROUP BY s.business_id ORDER BY min(s.marked_at) $$"
)
_UNCLAIMED = " AND (s.claimed_until IS NULL OR s.claimed_until < clock_timestamp())"


class Migration(migrations.Migration):
    dependencies = [("coaching", "0004_places")]

    operations = [
        migrations.AddField("staleweek", "claimed_until", models.DateTimeField(blank=True, null=True)),
        migrations.RunSQL(_LOOKUP.format(_UNCLAIMED), _LOOKUP.format("")),
    ]
