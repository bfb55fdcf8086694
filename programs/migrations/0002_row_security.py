"""Row-level security for the tables of programs."""

from django.db import migrations

from coaching.tenancy.row_security import GrantToService, SecureByBusiness


class Migration(migrations.Migration):
    dependencies = [("programs", "0001_tables"), ("coaching", "0002_row_security")]

    operations = [
        SecureByBusiness("exercise"),
        SecureByBusiness("program"),
        SecureByBusiness("variant"),
        SecureByBusiness("version"),
        SecureByBusiness("assignment"),
        SecureByBusiness("assignmentversion"),
        SecureByBusiness("assignmentpause"),
        SecureByBusiness("plannedsession"),
        SecureByBusiness("referenceload"),
        # The detector's look-up: which businesses have sessions past due (`coaching` 0002 says why).
        migrations.RunSQL(
            "CREATE POLICY lookup ON programs_plannedsession FOR SELECT TO CURRENT_USER USING (true)",
            "DROP POLICY lookup ON programs_plannedsession",
        ),
        migrations.RunSQL(
            "CREATE FUNCTION businesses_with_due_sessions(until timestamptz) RETURNS SETOF uuid "
            "LANGUAGE sql STABLE SECURITY DEFINER SET search_path = pg_catalog, public, pg_temp AS $$ "
            "SELECT p.business_id FROM programs_plannedsession p JOIN coaching_business b "
            "ON b.id = p.business_id WHERE b.state = 'active' AND p.state = 'planned' "
            "AND p.due_at <= until GROUP BY p.business_id ORDER BY min(p.due_at) $$;"
            "REVOKE ALL ON FUNCTION businesses_with_due_sessions(timestamptz) FROM PUBLIC",
            "DROP FUNCTION businesses_with_due_sessions(timestamptz)",
        ),
        GrantToService("EXECUTE", "FUNCTION businesses_with_due_sessions(timestamptz)"),
    ]
