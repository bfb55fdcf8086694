"""Places of clients, and where a client trains while away."""

import django.contrib.postgres.fields
import django.db.models.deletion
import django.db.models.manager
from django.db import migrations, models

import coaching.tenancy.models
import coaching.tenancy.scope
from coaching.tenancy.row_security import SecureByBusiness


class Migration(migrations.Migration):
    dependencies = [
        ("coaching", "0003_outbox_claim"),
    ]

    operations = [
        migrations.CreateModel(
            name="Place",
            fields=[
                (
                    "id",
                    models.UUIDField(
                        default=coaching.tenancy.models.new_id, editable=False, primary_key=True, serialize=False
                    ),
                ),
                ("name", models.CharField(max_length=120)),
                (
                    "kind",
                    models.CharField(
                        choices=[("home", "Home"), ("gym", "Gym"), ("hotel", "Hotel"), ("other", "Other")], max_length=5
                    ),
                ),
                (
                    "equipment",
                    django.contrib.postgres.fields.ArrayField(
                        base_field=models.CharField(max_length=40), default=list, size=None
                    ),
                ),
                ("load_steps", models.JSONField(default=dict)),
                ("row_version", models.PositiveIntegerField(default=1)),
                ("created_at", models.DateTimeField(auto_now_add=True)),
                (
                    "business",
                    models.ForeignKey(
                        db_constraint=False,
                        db_index=False,
                        default=coaching.tenancy.scope.current_business_id,
                        editable=False,
                        on_delete=django.db.models.deletion.CASCADE,
                        related_name="+",
                        to="coaching.business",
                    ),
                ),
                (
                    "client",
                    models.ForeignKey(
                        db_constraint=False,
                        db_index=False,
                        on_delete=django.db.models.deletion.CASCADE,
                        related_name="places",
                        to="coaching.client",
                    ),
                ),
            ],
            options={
                "abstract": False,
                "base_manager_name": "unscoped",
                "default_manager_name": "objects",
            },
            managers=[
                ("objects", django.db.models.manager.Manager()),
                ("unscoped", django.db.models.manager.Manager()),
            ],
        ),
        migrations.AddField(
            model_name="absence",
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
        migrations.AddConstraint(
            model_name="place",
            constraint=models.UniqueConstraint(fields=("business", "id"), name="place_business_id"),
        ),
        migrations.AddConstraint(
            model_name="place",
            constraint=models.UniqueConstraint(fields=("business", "client", "name"), name="place_name"),
        ),
        SecureByBusiness("place"),
        # Composite, as `SecureByBusiness` makes the others: a plain key admits another business's row.
        migrations.RunSQL(
            "ALTER TABLE coaching_absence ADD CONSTRAINT absence_place_fk "
            "FOREIGN KEY (business_id, place_id) REFERENCES coaching_place (business_id, id) "
            "ON DELETE SET NULL (place_id) DEFERRABLE INITIALLY DEFERRED",
            "ALTER TABLE coaching_absence DROP CONSTRAINT absence_place_fk",
        ),
    ]
