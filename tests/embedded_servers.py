"""Loaded before Django's settings: names the servers that the run uses.

Without DATABASE_URL the embedded ones are started, under a name of their own, and stopped at the end.
"""

import atexit
import os

from coaching.embedded.environment import embedded_environment

if "DATABASE_URL" not in os.environ:
    servers = embedded_environment(name="tests", durable=False)
    servers.__enter__()
    atexit.register(servers.__exit__, None, None, None)
