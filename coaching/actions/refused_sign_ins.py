"""Tell the trail of whom somebody tried to sign in as, and was not let in.

The attempt itself is a row that is written for known and unknown accounts alike; this job, a moment later, carries
those of known accounts into the trail of each business that the person is in. So no answer takes longer because there
is such an account, and a refusal is kept although its request was rolled back.
"""

from collections import defaultdict
from collections.abc import Iterable
from datetime import datetime
from typing import Final
from uuid import UUID

from django.db import transaction

from coaching.actions.audit_trail import Origin, record_refused_sign_in
from coaching.models.sign_in_attempts import Refused, SignInAttempt
from coaching.selectors.credentials import Place, list_places
from coaching.selectors.sign_in_attempts import TOLD_AT_ONCE, WINDOW, list_untold_attempts, window_start
from coaching.tenancy.scope import business_scope

ONE_BY_ONE: Final = 3
"""Entries of their own for one account, reason and quarter of an hour; the rest is one entry with their number.

So an honest mistake and the beginning of an attack are seen as they were, and whoever goes on fills no trail: an
account under attack adds at most 14 entries in a quarter of an hour, whatever the number of attempts. Practice.
"""

_BATCH: Final = 1000

Group = tuple[UUID, str, datetime]


def tell_refused_sign_ins(_business_id: UUID, now: datetime) -> bool:
    """Carry what waits into the trail of each business, once; the business whose turn it is makes no difference."""
    with transaction.atomic():
        waiting = list(list_untold_attempts(now=now).select_for_update()[:_BATCH])
        places: dict[UUID, list[Place]] = {}
        for group, attempts in _grouped(waiting).items():
            if group[0] not in places:
                places[group[0]] = list_places(person_id=group[0])
            _tell(group, attempts, places[group[0]], now)
    return False


def _grouped(attempts: Iterable[SignInAttempt]) -> dict[Group, list[SignInAttempt]]:
    groups: defaultdict[Group, list[SignInAttempt]] = defaultdict(list)
    for attempt in attempts:
        if attempt.person_id is not None:
            groups[(attempt.person_id, attempt.refused, window_start(attempt.at))].append(attempt)
    return groups


def _tell(group: Group, attempts: list[SignInAttempt], places: list[Place], now: datetime) -> None:
    single = attempts[: _left_one_by_one(group)]
    rest = attempts[len(single) :]
    for attempt in single:
        _record([attempt], places)
    told = single
    if rest and group[2] + WINDOW <= now:
        _record(_unfinished(rest), places)
        told = attempts
    SignInAttempt.objects.filter(id__in=[attempt.id for attempt in told]).update(told=True)


def _left_one_by_one(group: Group) -> int:
    person_id, refused, start = group
    if refused not in TOLD_AT_ONCE:
        return 0
    told = SignInAttempt.objects.filter(
        person_id=person_id, refused=refused, told=True, at__gte=start, at__lt=start + WINDOW
    )
    return max(0, ONE_BY_ONE - told.count())


def _unfinished(attempts: list[SignInAttempt]) -> list[SignInAttempt]:
    """Leave out right passwords whose code followed: that is how an ordinary sign-in begins."""
    if attempts[0].refused != Refused.CODE_MISSING:
        return attempts
    finished = SignInAttempt.objects.filter(
        person_id=attempts[0].person_id,
        succeeded=True,
        at__gte=attempts[0].at,
        at__lt=attempts[-1].at + WINDOW,
    ).values_list("address", flat=True)
    known = set(finished)
    return [attempt for attempt in attempts if attempt.address not in known]


def _record(attempts: list[SignInAttempt], places: list[Place]) -> None:
    if not attempts:
        return
    last, addresses = attempts[-1], {attempt.address for attempt in attempts}
    times = sum(attempt.times for attempt in attempts)
    summed = {"times": times, "addresses": len(addresses)} if times > 1 else {}
    address = last.address if len(addresses) == 1 else None
    for place in places:
        with business_scope(place.business_id):
            record_refused_sign_in(
                membership_id=place.membership_id,
                credential_id=last.credential_id,
                origin=Origin(address, last.request_id),
                at=last.at,
                values={"reason": last.refused, **summed},
            )
