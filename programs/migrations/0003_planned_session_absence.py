"""Which absence excused a planned session."""

import django.db.models.deletion
from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies = [("coaching", "0002_row_security"), ("programs", "0002_row_security")]

    operations = [
        migrations.AddField(
            model_name="plannedsession",
            name="absence",
            field=models.ForeignKey(
                blank=True,
                db_constraint=False,
                db_index=False,
                null=True,
                on_delete=django.db.models.deletion.SET_NULL,
                related_name="+",
                to="coaching.absence",
            ),
        ),
        migrations.AddIndex(
            model_name="plannedsession",
            index=models.Index(
                condition=models.Q(("absence__isnull", False)),
                fields=["business", "absence"],
                name="planned_session_absence",
            ),
        ),
        # Composite, as `SecureByBusiness` makes the others: a plain key admits another business's row.
        migrations.RunSQL(
            "ALTER TABLE programs_plannedsession ADD CONSTRAINT planned_session_absence_fk "
            "FOREIGN KEY (business_id, absence_id) REFERENCES coaching_absence (business_id, id) "
            "ON DELETE SET NULL (absence_id) DEFERRABLE INITIALLY DEFERRED",
            "ALTER TABLE programs_plannedsession DROP CONSTRAINT planned_session_absence_fk",
        ),
    ]
