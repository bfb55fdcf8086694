"""Row-level security for the kernel's tables, and the few look-ups made before a business is known."""

from django.db import migrations

from coaching.tenancy.row_security import GrantToService, SecureByBusiness

_LOOKUP_TABLES = (
    "coaching_business",
    "coaching_membership",
    "coaching_apikey",
    "coaching_outboxmessage",
    "coaching_staleweek",
)

# Forced row-level security binds the owner too, so the functions below, which run as the owner, need a
# policy of their own to read by. Only these tables have one, and it reads only.
_OWNER_READS = [
    migrations.RunSQL(
        f"CREATE POLICY lookup ON {table} FOR SELECT TO CURRENT_USER USING (true)",
        f"DROP POLICY lookup ON {table}",
    )
    for table in _LOOKUP_TABLES
]


def _function(signature: str, returns: str, body: str) -> list:
    return [
        migrations.RunSQL(
            f"CREATE FUNCTION {signature} RETURNS {returns} LANGUAGE sql STABLE SECURITY DEFINER "
            f"SET search_path = pg_catalog, public, pg_temp AS $$ {body} $$;"
            f"REVOKE ALL ON FUNCTION {signature} FROM PUBLIC",
            f"DROP FUNCTION {signature}",
        ),
        GrantToService("EXECUTE", f"FUNCTION {signature}"),
    ]


class Migration(migrations.Migration):
    dependencies = [("coaching", "0001_tables")]

    operations = [
        SecureByBusiness("business", column="id"),
        SecureByBusiness("membership"),
        SecureByBusiness("client"),
        SecureByBusiness("clientzone"),
        SecureByBusiness("absence"),
        SecureByBusiness("apikey"),
        SecureByBusiness("idempotentanswer"),
        SecureByBusiness("outboxmessage"),
        SecureByBusiness("staleweek"),
        GrantToService("SELECT, INSERT, UPDATE", "coaching_person"),
        GrantToService("SELECT, INSERT, UPDATE, DELETE", "coaching_sessiontoken"),
        GrantToService("SELECT", "django_migrations"),
        *_OWNER_READS,
        *_function(
            "resolve_api_key(wanted varchar)",
            "TABLE (id uuid, business_id uuid, digest varchar, scopes varchar[], source varchar, "
            "client_ids uuid[], expires_at timestamptz, revoked_at timestamptz, last_used_at timestamptz)",
            "SELECT k.id, k.business_id, k.digest, k.scopes, k.source, k.client_ids, k.expires_at, "
            "k.revoked_at, k.last_used_at FROM coaching_apikey k JOIN coaching_business b "
            "ON b.id = k.business_id WHERE k.prefix = wanted AND b.state = 'active'",
        ),
        *_function(
            "memberships_of(wanted uuid)",
            "TABLE (id uuid, business_id uuid, business_name varchar, role varchar)",
            "SELECT m.id, m.business_id, b.name, m.role FROM coaching_membership m JOIN coaching_business b "
            "ON b.id = m.business_id WHERE m.person_id = wanted AND m.state = 'active' "
            "AND b.state = 'active' ORDER BY b.name, m.id",
        ),
        *_function(
            "active_business_ids()",
            "SETOF uuid",
            "SELECT id FROM coaching_business WHERE state = 'active' ORDER BY id",
        ),
        *_function(
            "businesses_with_stale_weeks()",
            "SETOF uuid",
            "SELECT s.business_id FROM coaching_staleweek s JOIN coaching_business b ON b.id = s.business_id "
            "WHERE b.state = 'active' GROUP BY s.business_id ORDER BY min(s.marked_at)",
        ),
        *_function(
            "businesses_with_due_messages(until timestamptz)",
            "SETOF uuid",
            "SELECT o.business_id FROM coaching_outboxmessage o JOIN coaching_business b "
            "ON b.id = o.business_id WHERE b.state = 'active' "
            "AND o.state IN ('queued', 'sending', 'retrying') AND o.due_at <= until "
            "GROUP BY o.business_id ORDER BY min(o.due_at)",
        ),
    ]
