"""Row-level security for the tables of logs."""

from django.db import migrations

from coaching.tenancy.row_security import SecureByBusiness


class Migration(migrations.Migration):
    dependencies = [("logs", "0001_tables"), ("programs", "0002_row_security")]

    operations = [
        SecureByBusiness("sessionlog", constrain_business=False),
        # Bulk intake: the session and exercise were resolved in the same statement, and the client's
        # composite key binds the business (`performance.md`: five keys halve COPY).
        SecureByBusiness("setlog", constrain_business=False),
        SecureByBusiness("checkin", constrain_business=False),
        SecureByBusiness("logrevision", constrain_business=False),
        SecureByBusiness("helditem", constrain_business=False),
        SecureByBusiness("logbatch"),
        SecureByBusiness("clientweek", constrain_business=False),
        SecureByBusiness("flag"),
        SecureByBusiness("alertdigest"),
        SecureByBusiness("missedalert"),
    ]
