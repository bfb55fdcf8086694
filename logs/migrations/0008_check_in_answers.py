"""Answers to the business's own questions, with the version of the form that asked them."""

import django.db.models.deletion
from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies = [
        ("coaching", "0009_check_in_forms"),
        ("logs", "0007_log_imports"),
    ]

    operations = [
        migrations.AddField(
            model_name="checkin",
            name="answers",
            field=models.JSONField(default=dict),
        ),
        migrations.AddField(
            model_name="checkin",
            name="form",
            field=models.ForeignKey(
                blank=True,
                db_constraint=False,
                db_index=False,
                null=True,
                on_delete=django.db.models.deletion.PROTECT,
                related_name="+",
                to="coaching.checkinform",
            ),
        ),
        migrations.AddField(
            model_name="checkin",
            name="form_version",
            field=models.PositiveIntegerField(blank=True, null=True),
        ),
        # Composite, so that neither another business's form nor a version that never was can be named.
        migrations.RunSQL(
            "ALTER TABLE logs_checkin "
            "ADD CONSTRAINT check_in_form_fk FOREIGN KEY (business_id, form_id) "
            "REFERENCES coaching_checkinform (business_id, id) DEFERRABLE INITIALLY DEFERRED, "
            "ADD CONSTRAINT check_in_form_version_fk FOREIGN KEY (business_id, form_id, form_version) "
            "REFERENCES coaching_checkinformversion (business_id, form_id, number) DEFERRABLE INITIALLY DEFERRED, "
            "ADD CONSTRAINT check_in_form_with_version CHECK ((form_id IS NULL) = (form_version IS NULL))",
            "ALTER TABLE logs_checkin DROP CONSTRAINT check_in_form_fk, DROP CONSTRAINT check_in_form_version_fk, "
            "DROP CONSTRAINT check_in_form_with_version",
        ),
    ]
