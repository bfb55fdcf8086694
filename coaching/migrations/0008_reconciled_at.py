"""When a business was last reconciled, so that a clock that starts anew with its process does not decide it."""

from django.db import migrations, models

from coaching.tenancy.row_security import GrantToService

_SIGNATURE = "businesses_to_reconcile(since timestamptz)"


class Migration(migrations.Migration):
    dependencies = [("coaching", "0007_stale_week_failures")]

    operations = [
        migrations.AddField("business", "reconciled_at", models.DateTimeField(blank=True, null=True)),
        migrations.RunSQL(
            f"CREATE FUNCTION {_SIGNATURE} RETURNS SETOF uuid LANGUAGE sql STABLE SECURITY DEFINER "
            "SET search_path = pg_catalog, public, pg_temp AS $$ "
            "SELECT b.id FROM coaching_business b WHERE b.state = 'active' "
            "AND (b.reconciled_at IS NULL OR b.reconciled_at <= since) ORDER BY b.reconciled_at NULLS FIRST, b.id $$;"
            f"REVOKE ALL ON FUNCTION {_SIGNATURE} FROM PUBLIC",
            f"DROP FUNCTION {_SIGNATURE}",
        ),
        GrantToService("EXECUTE", f"FUNCTION {_SIGNATURE}"),
    ]
