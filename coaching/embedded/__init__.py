"""PostgreSQL and a Redis-protocol server from wheels, for the demo and the tests; knows no Django.

``start`` starts or adopts the pair of servers of a project folder, ``RunningServers.stop`` lets go of them
(the last one to let go stops them), ``find_running`` only looks. ``provision``, ``grant_defaults`` and
``fresh_database`` also serve a PostgreSQL server of your own.
"""

from coaching.embedded.addresses import Addresses
from coaching.embedded.errors import EmbeddedServerError
from coaching.embedded.roles import (
    BACKUP,
    DATABASE,
    OWNER,
    SERVICE,
    fresh_database,
    grant_defaults,
    provision,
)
from coaching.embedded.servers import RunningServers, erase, find_running, start

__all__ = [
    "BACKUP",
    "DATABASE",
    "OWNER",
    "SERVICE",
    "Addresses",
    "EmbeddedServerError",
    "RunningServers",
    "erase",
    "find_running",
    "fresh_database",
    "grant_defaults",
    "provision",
    "start",
]
