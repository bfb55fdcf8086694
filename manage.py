#!/usr/bin/env python
"""Run a management command; without DATABASE_URL, on the embedded servers."""

import os
import sys


def main() -> None:
    """Start (or adopt) the embedded servers where no others are named, then run the command."""
    os.environ.setdefault("DJANGO_SETTINGS_MODULE", "coaching.config.settings")
    from django.core.management import execute_from_command_line

    if "DATABASE_URL" in os.environ:
        execute_from_command_line(sys.argv)
        return
    from coaching.embedded.environment import embedded_environment

    with embedded_environment():
        execute_from_command_line(sys.argv)


if __name__ == "__main__":
    main()
