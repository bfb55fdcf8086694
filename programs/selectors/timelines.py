"""How the business in scope reckons a session's time."""

from collections.abc import Mapping
from dataclasses import dataclass
from decimal import Decimal
from typing import Final

from coaching.models import PlaceKind
from programs.models import BusinessTimeline
from programs.prescription.timeline_fields import Timelines, timelines
from programs.prescription.timeline_policy import Place

UNCHANGED_VERSION: Final = 1
"""The version of a business's figures of time while it has changed none, and so has no row."""

_NEAR_STATIONS: Final = frozenset({PlaceKind.HOME, PlaceKind.HOTEL})


@dataclass(frozen=True, slots=True)
class OwnTimeline:
    """A business's own figures of time, by name, and their version."""

    own: Mapping[str, Decimal]
    row_version: int


def get_own_timeline() -> OwnTimeline:
    """Return the figures of time that the business has of its own."""
    row = BusinessTimeline.objects.values_list("own", "row_version").first()
    if row is None:
        return OwnTimeline({}, UNCHANGED_VERSION)
    return OwnTimeline({name: Decimal(value) for name, value in row[0].items()}, row[1])


def business_timelines() -> Timelines:
    """Return how the business reckons time, in one query: read it once for all that a request plans."""
    return timelines(get_own_timeline().own)


def stations_at(place_kind: str | None) -> Place:
    """Say how far apart stations are at a kind of place; None is a client's usual one, taken as a gym."""
    return "home" if place_kind in _NEAR_STATIONS else "gym"
