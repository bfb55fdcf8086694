"""What single sessions have otherwise than their version, and the place that they are planned for."""

import django.db.models.deletion
from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies = [
        ("coaching", "0004_places"),
        ("programs", "0003_planned_session_absence"),
    ]

    operations = [
        migrations.AddField(
            model_name="plannedsession",
            name="changed_at",
            field=models.DateTimeField(blank=True, null=True),
        ),
        migrations.AddField(
            model_name="plannedsession",
            name="changed_by",
            field=models.ForeignKey(
                blank=True,
                db_constraint=False,
                db_index=False,
                null=True,
                on_delete=django.db.models.deletion.SET_NULL,
                related_name="+",
                to="coaching.membership",
            ),
        ),
        migrations.AddField(
            model_name="plannedsession",
            name="changes",
            field=models.JSONField(blank=True, null=True),
        ),
        migrations.AddField(
            model_name="plannedsession",
            name="place",
            field=models.ForeignKey(
                blank=True,
                db_constraint=False,
                db_index=False,
                null=True,
                on_delete=django.db.models.deletion.SET_NULL,
                related_name="+",
                to="coaching.place",
            ),
        ),
        migrations.AddIndex(
            model_name="plannedsession",
            index=models.Index(
                condition=models.Q(("place__isnull", False)), fields=["business", "place"], name="planned_session_place"
            ),
        ),
        # Composite, as `SecureByBusiness` makes the others: a plain key admits another business's row.
        migrations.RunSQL(
            "ALTER TABLE programs_plannedsession "
            "ADD CONSTRAINT planned_session_place_fk "
            "FOREIGN KEY (business_id, place_id) REFERENCES coaching_place (business_id, id) "
            "ON DELETE SET NULL (place_id) DEFERRABLE INITIALLY DEFERRED, "
            "ADD CONSTRAINT planned_session_changed_by_fk "
            "FOREIGN KEY (business_id, changed_by_id) REFERENCES coaching_membership (business_id, id) "
            "ON DELETE SET NULL (changed_by_id) DEFERRABLE INITIALLY DEFERRED",
            "ALTER TABLE programs_plannedsession DROP CONSTRAINT planned_session_place_fk, "
            "DROP CONSTRAINT planned_session_changed_by_fk",
        ),
    ]
