"""Change the business's own figures of time."""

from collections.abc import Mapping
from decimal import Decimal

from coaching.actions.row_versions import Versions, bump
from coaching.refusals import Invalid
from programs.models import BusinessTimeline
from programs.prescription.timeline_fields import TimelineFieldError, timelines
from programs.selectors.timelines import OwnTimeline, get_own_timeline


def change_timeline(*, versions: Versions, changes: Mapping[str, Decimal | int | None]) -> OwnTimeline:
    """Change figures of time; return the business's own as they are then.

    Sessions that are planned already keep their planned minutes until something writes them out anew: a substitute,
    a change of the session, another place or reference load, a move of version.

    Args:
        versions: the versions that the figures may have.
        changes: by name; None is practice again, and what is not named stays.

    Raises:
        PreconditionFailed: they were changed since the version named.
        Invalid: a figure can't stand beside the others.
    """
    BusinessTimeline.objects.get_or_create()
    row = BusinessTimeline.objects.select_for_update(no_key=True).get()
    texts = {name: None if value is None else f"{Decimal(value).normalize():f}" for name, value in changes.items()}
    own = {name: value for name, value in {**row.own, **texts}.items() if value is not None}
    try:
        timelines({name: Decimal(value) for name, value in own.items()})
    except TimelineFieldError as error:
        sent = next((name for name in error.names if name in changes), error.names[0])
        raise Invalid.at(f"#/{sent}", str(error), error.code) from None
    bump(BusinessTimeline.objects.all(), row.id, versions, own=own)
    return get_own_timeline()
