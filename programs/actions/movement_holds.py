"""Hold movements for pain, and release them. `logs` calls this; `programs` never asks `logs`."""

from collections.abc import Collection, Sequence
from dataclasses import dataclass
from datetime import date, datetime
from typing import Any, Final
from uuid import UUID

from django.db import connection

from coaching.tenancy.models import new_id
from coaching.tenancy.scope import current_business_id

_SET: Final = """
INSERT INTO programs_movementhold AS h (id, business_id, client_id, flag_id, scope, action, from_date)
SELECT id, %s, client_id, flag_id, scope, action, from_date
FROM unnest(%s::uuid[], %s::uuid[], %s::uuid[], %s::text[], %s::text[], %s::date[])
  AS v (id, client_id, flag_id, scope, action, from_date)
ORDER BY flag_id, scope
ON CONFLICT (business_id, flag_id, scope) DO UPDATE
  SET action = excluded.action, from_date = excluded.from_date, released_at = NULL
  WHERE (h.action, h.from_date) IS DISTINCT FROM (excluded.action, excluded.from_date) OR h.released_at IS NOT NULL
"""
_RELEASE: Final = """
UPDATE programs_movementhold h SET released_at = %s
WHERE h.business_id = %s AND h.client_id = ANY (%s::uuid[]) AND h.released_at IS NULL
  AND NOT EXISTS (SELECT FROM unnest(%s::uuid[], %s::text[]) AS v (flag_id, scope)
    WHERE v.flag_id = h.flag_id AND v.scope = h.scope)
"""


@dataclass(frozen=True, slots=True, kw_only=True)
class WantedHold:
    """A scope that a finding holds: `all`, `exercise:<key>` or `region:<site>`; `action` as `HoldAction` has it."""

    client_id: UUID
    flag_id: UUID
    scope: str
    action: str
    from_date: date


def set_holds(*, client_ids: Collection[UUID], holds: Sequence[WantedHold], now: datetime) -> None:
    """Make these the standing holds of the clients, in two statements at most; doing it again changes nothing.

    Args:
        client_ids: whose holds they are; what stands for them and is not given is released.
        holds: all that is to stand, one per finding and scope.
        now: when what is not given was released.
    """
    if not client_ids:
        return
    business_id = current_business_id()
    flags = [hold.flag_id for hold in holds]
    scopes = [hold.scope for hold in holds]
    release: list[Any] = [now, business_id, list(client_ids), flags, scopes]
    wanted: list[Any] = [
        business_id,
        [new_id() for _ in holds],
        [hold.client_id for hold in holds],
        flags,
        scopes,
        [hold.action for hold in holds],
        [hold.from_date for hold in holds],
    ]
    with connection.cursor() as cursor:
        cursor.execute(_RELEASE, release)
        if holds:
            cursor.execute(_SET, wanted)
