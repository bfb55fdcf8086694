"""`python -m coaching.embedded ADMIN_URL`: make the database and its roles on a server of your own.

Needs no settings, since the addresses that they want do not exist yet.
"""

import argparse
import secrets
import sys

import psycopg

from coaching.embedded.roles import BACKUP, DATABASE, OWNER, SERVICE, provision


def main() -> int:
    """Provision, and print each role's new password once."""
    parser = argparse.ArgumentParser(prog="python -m coaching.embedded", description=__doc__)
    parser.add_argument("admin_url", help="a superuser's address, e.g. postgresql://postgres@db/postgres")
    parser.add_argument("--database", default=DATABASE, help=f"the database's name ({DATABASE})")
    arguments = parser.parse_args()
    passwords = {role: secrets.token_urlsafe(24) for role in (OWNER, SERVICE, BACKUP)}
    try:
        with psycopg.connect(arguments.admin_url, autocommit=True) as connection:
            provision(connection, arguments.database, passwords=passwords)
    except psycopg.Error as error:
        sys.stderr.write(f"The server refused: {str(error).strip()} Name a superuser's address.\n")
        return 1
    for role, password in passwords.items():
        sys.stdout.write(f"{role}: {password}\n")
    sys.stdout.write("These passwords are shown once. Put them into DATABASE_URL and DATABASE_OWNER_URL.\n")
    return 0


if __name__ == "__main__":
    sys.exit(main())
