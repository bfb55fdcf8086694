"""Which database connection may change tables."""

from typing import Any


class OwnerMigrates:
    """Only the `owner` connection migrates; the service's role owns nothing."""

    def allow_migrate(self, db: str, app_label: str, **_hints: Any) -> bool:
        """Say yes for the owner's connection alone."""
        return db == "owner"

    def allow_relation(self, _first: Any, _second: Any, **_hints: Any) -> bool:
        """Rows of both connections are rows of one database."""
        return True
