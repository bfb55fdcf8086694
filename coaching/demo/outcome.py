"""What the service made of the logs, read back through the API and compared with the truth."""

import time
from collections.abc import Callable
from dataclasses import dataclass, field
from datetime import datetime, timedelta
from typing import Any, Final
from zoneinfo import ZoneInfo

from coaching.demo.people import CLIENTS, COACHES, EXPECTED_FLAGS
from coaching.demo.play import Caller, Played, local_today

SETTLED_WITHIN_S: Final = 90
DIGEST_HOUR: Final = 7
STANDING: Final = ("open", "acknowledged")


@dataclass
class Outcome:
    """By client: the last full week's figures and the kinds of the flags that stand."""

    weeks: dict[str, dict[str, Any]] = field(default_factory=dict)
    flags: dict[str, set[str]] = field(default_factory=dict)

    def differences(self) -> list[str]:
        """Say where the flags differ from the clients' true stories."""
        lines = []
        for profile in CLIENTS:
            expected, found = EXPECTED_FLAGS[profile.story], self.flags.get(profile.slug, set())
            lines += [f"{profile.name}: {kind} is missing" for kind in sorted(expected - found)]
            lines += [f"{profile.name}: {kind} was not meant" for kind in sorted(found - expected)]
        return lines


def read_outcome(caller: Caller, played: Played, now: datetime) -> Outcome:
    """Read each client's last full week and the flags that stand."""
    outcome = Outcome()
    slug_of = {client: slug for slug, client in played.client_ids.items()}
    for profile in CLIENTS:
        today = local_today(profile, now)
        last = today - timedelta(days=today.weekday() + 7)
        rows = caller.get(f"/clients/{played.client_ids[profile.slug]}/progress", weeks=3)["weeks"]
        outcome.weeks[profile.slug] = next((row for row in rows if row["week_start"] == last.isoformat()), {})
    for state in STANDING:
        for flag in caller.all("/flags", state=state):
            outcome.flags.setdefault(slug_of[flag["client"]], set()).add(flag["kind"])
    return outcome


def wait_until_settled(
    caller: Caller,
    played: Played,
    *,
    mailed: Callable[[], set[str]],
    check: Callable[[], None],
    now: datetime,
    mail_awaited: bool,
) -> Outcome:
    """Wait until the workers have caught up: the weeks computed, the flags as meant, the digests mailed.

    Args:
        caller: somebody who may see everything.
        played: what was posted.
        mailed: the addresses that have received mail.
        check: fails when a process has ended.
        now: the instant of the scenario.
        mail_awaited: whether digests are still to come; an earlier run of the day had them.

    Raises:
        DemoError: when a process ended.
    """
    until = time.monotonic() + SETTLED_WITHIN_S
    outcome = Outcome()
    while time.monotonic() < until:
        check()
        outcome = read_outcome(caller, played, now)
        mail_is_in = not mail_awaited or digests_due(now) <= mailed()
        if all(outcome.weeks.values()) and not outcome.differences() and mail_is_in:
            return outcome
        time.sleep(1)
    return outcome


def digests_due(now: datetime) -> set[str]:
    """Return the coaches for whom it is past the hour of the digest; each has clients who missed sessions."""
    return {coach.email for coach in COACHES if now.astimezone(ZoneInfo(coach.zone)).hour >= DIGEST_HOUR}
