"""Origins whose pages may read a business's answers in a browser, and the look-up that a preflight needs."""

import django.contrib.postgres.fields
import django.contrib.postgres.indexes
from django.db import migrations, models

from coaching.tenancy.row_security import GrantToService

# A preflight brings no credential: all that can be asked is whether any business lists the origin.
_FUNCTION = "origin_is_allowed(wanted varchar)"
_CREATE = f"""
CREATE FUNCTION {_FUNCTION} RETURNS boolean LANGUAGE sql STABLE SECURITY DEFINER
SET search_path = pg_catalog, public, pg_temp AS $$
  SELECT EXISTS (SELECT FROM coaching_business b WHERE b.allowed_origins @> ARRAY[wanted] AND b.state = 'active') $$;
REVOKE ALL ON FUNCTION {_FUNCTION} FROM PUBLIC;
"""


class Migration(migrations.Migration):
    dependencies = [("coaching", "0015_consents_erasures_retention")]

    operations = [
        migrations.AddField(
            model_name="business",
            name="allowed_origins",
            field=django.contrib.postgres.fields.ArrayField(
                base_field=models.CharField(max_length=272), blank=True, db_default=[], default=list, size=None
            ),
        ),
        migrations.AddIndex(
            model_name="business",
            index=django.contrib.postgres.indexes.GinIndex(fields=["allowed_origins"], name="business_allowed_origins"),
        ),
        migrations.RunSQL(_CREATE, f"DROP FUNCTION {_FUNCTION}"),
        GrantToService("EXECUTE", f"FUNCTION {_FUNCTION}"),
    ]
