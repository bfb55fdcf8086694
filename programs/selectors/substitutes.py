"""What a client can do in an exercise's place."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal
from uuid import UUID

from coaching.models import Client
from coaching.policy import Principal
from coaching.refusals import Fault, Invalid, NotFound
from programs.prescription.client_fit import (
    REGION_PATTERNS,
    ClientLimits,
    FitWarning,
    exercise_cautions,
    exercise_warnings,
    fit_warnings,
    pace_warnings,
    training_warnings,
)
from programs.prescription.constants import SUBSTITUTES_MAX
from programs.prescription.movement_holds import Hold
from programs.prescription.structure import ExerciseFacts
from programs.prescription.substitutes import ExerciseConflict, Substitute, SubstituteFinder, rank_substitutes
from programs.selectors.exercises import catalogue_facts, exercise_facts
from programs.selectors.movement_holds import standing_holds
from programs.selectors.session_paces import session_paces
from programs.selectors.visible_clients import get_named_client

_REGION = "region:"
_EXERCISE = "exercise:"


@dataclass(frozen=True, slots=True)
class SubstituteList:
    """Substitutes for an exercise, closest first; ``warnings`` say in what the exercise itself does not fit."""

    exercise: str
    exercise_name: str
    warnings: tuple[FitWarning, ...]
    substitutes: tuple[Substitute, ...]


def client_limits(client: Client, *, holds: Sequence[Hold] = (), held: Sequence[str] = ()) -> ClientLimits:
    """Return what a client has and can do.

    Args:
        client: the client.
        holds: those for pain that stand for the client.
        held: what is to be spared beside the client's own list: patterns, exercise keys, `exercise:<key>` or
            `region:<site>`, scoped as holds for pain are.
    """
    regions = tuple(scope.removeprefix(_REGION) for scope in held if scope.startswith(_REGION))
    movements = tuple(scope.removeprefix(_EXERCISE) for scope in held if not scope.startswith(_REGION))
    return ClientLimits(
        equipment=tuple(client.equipment),
        avoided_movements=(*client.avoided_movements, *movements),
        avoided_regions=regions,
        holds=tuple(holds),
        max_complexity=client.max_complexity,
        session_min=client.session_min,
    )


@dataclass(frozen=True, slots=True)
class ClientFit:
    """What of a program does not fit a client, and what is proposed in place of exercises that don't."""

    warnings: tuple[FitWarning, ...] = ()
    conflicts: tuple[ExerciseConflict, ...] = ()


def clients_fit(
    *,
    clients: Iterable[Client],
    used: Mapping[UUID, Sequence[ExerciseFacts]],
    longest_min: Decimal,
    longest_mid_min: Decimal,
) -> dict[UUID, ClientFit]:
    """Hold a program against what each client has and can do, and against what is held for pain.

    The catalogue is read once, and only if something does not fit somebody.

    Args:
        clients: whom it is given to.
        used: by client, the exercises that they are to do, in the order in which they are to be told.
        longest_min: the high reading of its longest session, in minutes.
        longest_mid_min: the longest middle of a session's low and high readings, held against clients' own pace.
    """
    given = list(clients)
    holds = standing_holds(client_ids=[client.id for client in given])
    limits = {client.id: client_limits(client, holds=holds.get(client.id, ())) for client in given}
    paces = session_paces(client_ids=list(limits))
    warnings = {
        client_id: (
            *fit_warnings(used[client_id], longest_min, own),
            *pace_warnings(longest_mid_min, own, paces.get(client_id)),
        )
        for client_id, own in limits.items()
    }
    unfit = any(
        warning.exercise is not None and warning.code != "no_increase"
        for found in warnings.values()
        for warning in found
    )
    finder = SubstituteFinder(catalogue_facts() if unfit else [])
    return {
        client_id: ClientFit(warnings[client_id], finder.conflicts(used[client_id], own))
        for client_id, own in limits.items()
    }


def list_substitutes(
    *, actor: Principal, exercise: str, client_id: UUID | None, avoid: Sequence[str] = ()
) -> SubstituteList:
    """Rank what a client can do in an exercise's place; the exercise itself comes first where it fits.

    Args:
        actor: who asks.
        exercise: id or key.
        client_id: whose equipment, movements to avoid, holds for pain and complexity count; None for nobody's.
        avoid: what is to be spared beside: patterns, exercise keys, or `region:<site>`.

    Raises:
        NotFound: no such exercise.
        UnknownObject: no such client that the caller may see.
        Invalid: a region that no pattern is known to load.
    """
    found = exercise_facts([exercise]).get(exercise)
    if found is None:
        raise NotFound("There is no exercise with this id or key; GET /api/v1/exercises lists them.")
    client = None if client_id is None else get_named_client(actor=actor, client_id=client_id, pointer="?client")
    catalogue = catalogue_facts()
    _check_avoided(avoid, catalogue)
    holds = {} if client is None else standing_holds(client_ids=[client.id])
    limits = client_limits(client or Client(), holds=() if client is None else holds.get(client.id, ()), held=avoid)
    return SubstituteList(
        exercise=found.key,
        exercise_name=found.name,
        warnings=(
            *training_warnings(limits),
            *exercise_warnings(found, limits),
            *exercise_cautions(found, limits),
        ),
        substitutes=rank_substitutes(found, catalogue, limits)[:SUBSTITUTES_MAX],
    )


def _check_avoided(avoid: Sequence[str], catalogue: Sequence[ExerciseFacts]) -> None:
    known = {facts.pattern for facts in catalogue} | {facts.key for facts in catalogue}
    faults = [
        Fault("?avoid", "unknown_movement", _unknown(scope))
        for scope in avoid
        if scope.removeprefix(_EXERCISE) not in known and not _names_region(scope)
    ]
    if faults:
        raise Invalid(faults[0].detail, faults=faults)


def _names_region(scope: str) -> bool:
    return scope.startswith(_REGION) and scope.removeprefix(_REGION).partition(":")[0] in REGION_PATTERNS


def _unknown(scope: str) -> str:
    regions = ", ".join(f"{_REGION}{word}" for word in sorted(REGION_PATTERNS))
    return f"{scope[:80]!r} is no movement pattern, no exercise and no region; regions are {regions}."
