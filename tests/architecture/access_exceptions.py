"""The reviewed exceptions of the matrix: where an answer is otherwise than roles, scopes and clients say, and why.

They never open an operation: who is refused by role, scope or for want of a good credential stays refused.
"""

from typing import Final

from coaching.models import Role
from tests.architecture.access import Answer, Exceptional
from tests.architecture.credentials import Credential


def _everybody(_: Credential) -> bool:
    return True


def _not_the_owner(credential: Credential) -> bool:
    return credential.role != Role.OWNER


def _not_a_head(credential: Credential) -> bool:
    return credential.role not in {Role.OWNER, Role.HEAD_COACH}


def _key(credential: Credential) -> bool:
    return bool(credential.scopes)


def _neighbours_owner(credential: Credential) -> bool:
    return credential.role == Role.OWNER and not credential.in_business


EXCEPTIONS: Final = (
    Exceptional(
        frozenset({"sessions.create"}),
        _everybody,
        Answer.NO_CREDENTIAL,
        "the body's password is wrong, and is refused as such whoever sends it",
    ),
    Exceptional(
        frozenset({"sessions.delete"}),
        _not_the_owner,
        Answer.NOT_FOUND,
        "a session is its own member's only, and the address names one of the owner's",
    ),
    Exceptional(
        frozenset({"log_batches.read"}),
        _not_a_head,
        Answer.NOT_FOUND,
        "what a batch was answered is for who sent it, here the owner, and for head coaches",
    ),
    Exceptional(
        frozenset({f"log_imports.{verb}" for verb in ("read", "update", "delete", "dry_run", "commit")}),
        _not_a_head,
        Answer.NOT_FOUND,
        "an imported file is for who sent it, here the owner, and for head coaches",
    ),
    Exceptional(
        frozenset(
            {f"{kind}.{verb}" for kind in ("session_logs", "set_logs", "check_ins") for verb in ("update", "delete")}
        )
        | {"held_items.delete"},
        _key,
        Answer.NOT_FOUND,
        "a key corrects what is filed under its own source only, and these logs are the team's",
    ),
    Exceptional(
        frozenset({"assignments.move_to_version", "program_versions.create"}),
        _neighbours_owner,
        Answer.UNKNOWN_IN_BODY,
        "the body's version or variant is looked up before the path's object: alike for ids of nothing",
    ),
)
