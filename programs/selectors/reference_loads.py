"""What clients can lift, as percentages are resolved against it."""

from collections import defaultdict
from collections.abc import Collection, Mapping
from datetime import date
from decimal import Decimal
from typing import cast
from uuid import UUID

from django.db.models import QuerySet

from coaching.policy import Principal
from coaching.refusals import NotFound
from programs.models import ReferenceLoad
from programs.prescription.loads import ReferenceLoad as KnownLoad
from programs.prescription.tempo_classes import TempoClass
from programs.prescription.vocabulary import Reference
from programs.selectors.visible_clients import get_visible_client


def list_reference_loads(*, actor: Principal, client_id: UUID) -> QuerySet[ReferenceLoad]:
    """Return a client's reference loads with their exercises.

    Raises:
        NotFound: no such client that the caller may see.
    """
    get_visible_client(actor=actor, client_id=client_id)
    return ReferenceLoad.objects.filter(client_id=client_id).select_related("exercise")


def get_reference_load(*, actor: Principal, client_id: UUID, reference_load_id: UUID) -> ReferenceLoad:
    """Return one of a client's reference loads with its exercise.

    Raises:
        NotFound: no such client that the caller may see, or no such reference load of theirs.
    """
    found = list_reference_loads(actor=actor, client_id=client_id).filter(id=reference_load_id).first()
    if found is None:
        raise NotFound("This client has no reference load with this id; GET the list to see those there are.")
    return found


def latest_reference_loads(
    *, client_ids: Collection[UUID], exercise_keys: Collection[str], until: date
) -> dict[UUID, dict[str, dict[Reference, KnownLoad]]]:
    """Return each client's latest reference of each kind, by exercise key, in one query.

    Args:
        client_ids: whose.
        exercise_keys: of which exercises.
        until: references dated later are left out.
    """
    found: dict[UUID, dict[str, dict[Reference, KnownLoad]]] = defaultdict(lambda: defaultdict(dict))
    rows = (
        ReferenceLoad.objects.filter(
            client_id__in=list(client_ids), exercise__key__in=list(exercise_keys), on_date__lte=until
        )
        .order_by("client_id", "exercise_id", "kind", "-on_date", "-id")
        .distinct("client_id", "exercise_id", "kind")
        .values_list("client_id", "exercise__key", "kind", "load_kg", "on_date", "tempo_factors")
    )
    for client_id, key, kind, load_kg, on_date, factors in rows:
        reference = cast("Reference", kind)
        found[client_id][key][reference] = KnownLoad(
            kind=reference, load_kg=load_kg, local_date=on_date, tempo_factors=_factors(factors)
        )
    return found


def _factors(stored: Mapping[str, str]) -> tuple[tuple[TempoClass, Decimal], ...]:
    return tuple((cast("TempoClass", name), Decimal(factor)) for name, factor in sorted(stored.items()))
