"""The URLs of a pair of servers."""

from __future__ import annotations

from pathlib import Path
from typing import Final
from urllib.parse import quote

from coaching.embedded.roles import BACKUP, DATABASE, OWNER, SERVICE

ADMIN: Final = "counterpoise_admin"
"""The bootstrap superuser; nothing but this package uses it."""
POSTGRES_PORT: Final = 5432
"""No TCP port: the number is part of the socket's file name."""


class Addresses:
    """URLs over unix sockets, as psycopg, dj-database-url, redis-py and Celery read them."""

    def __init__(self, sockets: Path) -> None:
        self.sockets: Final = sockets

    def database_url(self, role: str, database: str = DATABASE) -> str:
        """``postgresql://role@%2Ffolder%2Fof%2Fthe%2Fsocket:5432/database``."""
        host, name = quote(str(self.sockets), safe=""), quote(database, safe="")
        return f"postgresql://{role}@{host}:{POSTGRES_PORT}/{name}"

    @property
    def service_url(self) -> str:
        """The role that the web processes and the workers run as."""
        return self.database_url(SERVICE)

    @property
    def owner_url(self) -> str:
        """The role that migrates."""
        return self.database_url(OWNER)

    @property
    def backup_url(self) -> str:
        """The role that reads everything."""
        return self.database_url(BACKUP)

    @property
    def admin_url(self) -> str:
        """The superuser on the database ``postgres``: to create test databases, never for the service."""
        return self.database_url(ADMIN, "postgres")

    @property
    def redis_url(self) -> str:
        """For redis-py and Django's cache."""
        return f"unix://{quote(str(self.valkey_socket))}?db=0"

    @property
    def broker_url(self) -> str:
        """The same server as Celery (kombu) spells it."""
        return f"redis+socket://{quote(str(self.valkey_socket))}?virtual_host=0"

    @property
    def valkey_socket(self) -> Path:
        """Valkey's socket."""
        return self.sockets / "valkey.sock"
