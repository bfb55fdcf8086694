"""The digests' look-up: which businesses have alerts that no digest has taken (`coaching` 0002 says why)."""

from django.db import migrations

from coaching.tenancy.row_security import GrantToService


class Migration(migrations.Migration):
    dependencies = [("logs", "0002_row_security")]

    operations = [
        migrations.RunSQL(
            "CREATE POLICY lookup ON logs_missedalert FOR SELECT TO CURRENT_USER USING (true)",
            "DROP POLICY lookup ON logs_missedalert",
        ),
        migrations.RunSQL(
            "CREATE FUNCTION businesses_with_open_alerts() RETURNS SETOF uuid "
            "LANGUAGE sql STABLE SECURITY DEFINER SET search_path = pg_catalog, public, pg_temp AS $$ "
            "SELECT a.business_id FROM logs_missedalert a JOIN coaching_business b "
            "ON b.id = a.business_id WHERE b.state = 'active' AND a.state = 'standing' "
            "AND a.digest_id IS NULL GROUP BY a.business_id ORDER BY min(a.created_at) $$;"
            "REVOKE ALL ON FUNCTION businesses_with_open_alerts() FROM PUBLIC",
            "DROP FUNCTION businesses_with_open_alerts()",
        ),
        GrantToService("EXECUTE", "FUNCTION businesses_with_open_alerts()"),
    ]
