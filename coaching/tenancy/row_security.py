"""Migration operations that put a table behind row-level security."""

from typing import Any

from django.conf import settings
from django.db import models
from django.db.migrations.operations.base import Operation

_CURRENT = "current_setting('app.business_id')::uuid"
_ON_DELETE = {"CASCADE": "ON DELETE CASCADE", "SET_NULL": "ON DELETE SET NULL ({column})"}


class SecureByBusiness(Operation):
    """Bind a table to the business in scope.

    Enables and forces row-level security with a policy of one equality for the service's role, grants
    that role its four verbs, and makes each foreign key to another table of the business composite.
    `current_setting` without its second argument makes a statement fail when no business is set:
    returning nothing instead would let a job conclude that nobody missed a session.

    Args:
        model_name: the model whose table is bound.
        column: the column that holds the business's id.
        constrain_business: add a foreign key to the business itself; left out where a composite key to
            a parent already implies it and the table takes bulk writes.
    """

    reduces_to_sql = True
    reversible = True

    def __init__(self, model_name: str, column: str = "business_id", constrain_business: bool = True) -> None:  # noqa: FBT001, FBT002 — Django's own calling convention for operations
        self.model_name = model_name
        self.column = column
        self.constrain_business = constrain_business

    def state_forwards(self, app_label: str, state: Any) -> None:
        """Change nothing in Django's own picture of the models."""

    def database_forwards(self, app_label: str, schema_editor: Any, from_state: Any, to_state: Any) -> None:
        """Create the policy, the grants and the composite keys."""
        model = to_state.apps.get_model(app_label, self.model_name)
        table = schema_editor.quote_name(model._meta.db_table)
        role = schema_editor.quote_name(settings.SERVICE_ROLE)
        for statement in self._statements(model, table, role):
            schema_editor.execute(statement)

    def _statements(self, model: type[models.Model], table: str, role: str) -> list[str]:
        equality = f"{self.column} = {_CURRENT}"
        statements = [
            f"ALTER TABLE {table} ENABLE ROW LEVEL SECURITY",
            f"ALTER TABLE {table} FORCE ROW LEVEL SECURITY",
            f"CREATE POLICY business ON {table} TO {role} USING ({equality}) WITH CHECK ({equality})",
            f"REVOKE ALL ON {table} FROM {role}",
            f"GRANT SELECT, INSERT, UPDATE, DELETE ON {table} TO {role}",
        ]
        if self.column != "business_id":
            return statements
        if self.constrain_business:
            statements.append(f"ALTER TABLE {table} ADD FOREIGN KEY (business_id) REFERENCES coaching_business (id)")
        statements += [self._composite(table, field) for field in _business_keys(model)]
        return statements

    def _composite(self, table: str, field: Any) -> str:
        target = field.related_model._meta.db_table
        action = _ON_DELETE.get(field.remote_field.on_delete.__name__, "").format(column=field.column)
        return (
            f"ALTER TABLE {table} ADD FOREIGN KEY (business_id, {field.column}) "
            f"REFERENCES {target} (business_id, id) {action} DEFERRABLE INITIALLY DEFERRED"
        )

    def database_backwards(self, app_label: str, schema_editor: Any, from_state: Any, to_state: Any) -> None:
        """Drop the policy; the keys go with the table."""
        model = from_state.apps.get_model(app_label, self.model_name)
        table = schema_editor.quote_name(model._meta.db_table)
        schema_editor.execute(f"DROP POLICY IF EXISTS business ON {table}")
        schema_editor.execute(f"ALTER TABLE {table} NO FORCE ROW LEVEL SECURITY")
        schema_editor.execute(f"ALTER TABLE {table} DISABLE ROW LEVEL SECURITY")

    def describe(self) -> str:
        """Describe the operation for `migrate --plan`."""
        return f"Put {self.model_name} behind row-level security"


class GrantToService(Operation):
    """Give the service's role exactly these privileges on a table or function outside any business."""

    reduces_to_sql = True
    reversible = True

    def __init__(self, privileges: str, on: str) -> None:
        self.privileges = privileges
        self.on = on

    def state_forwards(self, app_label: str, state: Any) -> None:
        """Change nothing in Django's own picture of the models."""

    def database_forwards(self, app_label: str, schema_editor: Any, from_state: Any, to_state: Any) -> None:
        """Take back what default privileges gave, then grant."""
        role = schema_editor.quote_name(settings.SERVICE_ROLE)
        schema_editor.execute(f"REVOKE ALL ON {self.on} FROM {role}")
        schema_editor.execute(f"GRANT {self.privileges} ON {self.on} TO {role}")

    def database_backwards(self, app_label: str, schema_editor: Any, from_state: Any, to_state: Any) -> None:
        """Revoke."""
        role = schema_editor.quote_name(settings.SERVICE_ROLE)
        schema_editor.execute(f"REVOKE {self.privileges} ON {self.on} FROM {role}")

    def describe(self) -> str:
        """Describe the operation for `migrate --plan`."""
        return f"Grant {self.privileges} on {self.on} to the service"


class RevokeFromService(Operation):
    """Take from the service's role whatever default privileges gave it on a table that it does not use."""

    reduces_to_sql = True
    reversible = True

    def __init__(self, on: str) -> None:
        self.on = on

    def state_forwards(self, app_label: str, state: Any) -> None:
        """Change nothing in Django's own picture of the models."""

    def database_forwards(self, app_label: str, schema_editor: Any, from_state: Any, to_state: Any) -> None:
        """Revoke."""
        schema_editor.execute(f"REVOKE ALL ON {self.on} FROM {schema_editor.quote_name(settings.SERVICE_ROLE)}")

    def database_backwards(self, app_label: str, schema_editor: Any, from_state: Any, to_state: Any) -> None:
        """Give back the four verbs that default privileges give."""
        role = schema_editor.quote_name(settings.SERVICE_ROLE)
        schema_editor.execute(f"GRANT SELECT, INSERT, UPDATE, DELETE ON {self.on} TO {role}")

    def describe(self) -> str:
        """Describe the operation for `migrate --plan`."""
        return f"Revoke all on {self.on} from the service"


def _business_keys(model: type[models.Model]) -> list[Any]:
    return [
        field
        for field in model._meta.get_fields()
        if isinstance(field, models.ForeignKey)
        and field.name != "business"
        and not isinstance(field.related_model, str)
        and any(other.name == "business" for other in field.related_model._meta.get_fields())
    ]
