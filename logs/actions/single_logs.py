"""One log at a time: the same way in as a batch's, and corrections by people."""

from dataclasses import dataclass
from datetime import datetime
from uuid import UUID

from coaching.actions.row_versions import Versions
from coaching.policy import Principal
from coaching.refusals import Invalid, NotFound, PreconditionFailed, UnknownObject
from logs.actions.batch_records import source_for
from logs.actions.cautions import Caution, beside_refusal, cautions_of
from logs.actions.log_batches import ClientErased, is_of_erased, record_logs
from logs.actions.log_fields import Item, Kind, faults_of_single
from logs.selectors.log_references import lock_logging_clients
from logs.selectors.logs_by_kind import own_logs

_ALL_UNKNOWN = "unknown_object"
_GONE = "There is no log with this id that you may see; check the path and the id."


@dataclass(frozen=True, slots=True)
class RecordedLog:
    """What became of a single log, and what must be said about it at once."""

    item: Item
    cautions: list[Caution]


def record_log(*, actor: Principal, source: str | None, item: Item, now: datetime) -> RecordedLog:
    """Take one log.

    Args:
        actor: who sends it.
        source: what the body names, None for nothing.
        item: the log as read.
        now: when it was received.

    Raises:
        Invalid: it is refused, or the source is not the key's.
    """
    record_logs(actor=actor, source=source_for(actor, source), items={item.kind: [item]}, now=now)
    _refuse_faulty(item)
    return RecordedLog(item, cautions_of([item]))


def correct_log(
    *, actor: Principal, log_id: UUID, versions: Versions, seen: int, source: str, item: Item, now: datetime
) -> RecordedLog:
    """Replace a log's content; what it was is kept.

    Args:
        actor: who corrects it.
        log_id: which log.
        versions: what `If-Match` admits.
        seen: the row version that the correction was written from.
        source: what the log is filed under.
        item: its whole content as corrected, with its identity and revision.
        now: when.

    Raises:
        NotFound: no such log that the caller may see.
        PreconditionFailed: it is at another version by now.
        Invalid: the correction is refused.
    """
    check_version(
        actor=actor, kind=item.kind, log_id=log_id, client=item.fields["client"], versions=versions, seen=seen
    )
    item.insists = True
    record_logs(actor=actor, source=source, items={item.kind: [item]}, now=now)
    _refuse_faulty(item)
    if item.result == "held":
        raise UnknownObject.at(
            "#/session_external_id", "This client has no session log under this external id; send the session first."
        )
    return RecordedLog(item, cautions_of([item]))


def check_version(*, actor: Principal, kind: Kind, log_id: UUID, client: str, versions: Versions, seen: int) -> None:
    """Lock a log's client, and see that nobody changed the log since it was read.

    Raises:
        NotFound: it is gone.
        PreconditionFailed: it is at another version by now.
    """
    lock_logging_clients(actor=actor, texts=[client])
    found = own_logs(actor=actor, kind=kind).filter(id=log_id).values_list("row_version", flat=True).first()
    if found is None:
        raise NotFound(_GONE)
    if found != seen or (versions is not None and found not in versions):
        raise PreconditionFailed(
            f'It is at version "v{found}" by now; read it again and send your change with that ETag.'
        )


def _refuse_faulty(item: Item) -> None:
    if not item.faults:
        return
    faults = faults_of_single(item)
    if is_of_erased(item):
        raise ClientErased(faults[0].detail, faults=faults, extra=beside_refusal(item))
    kind = UnknownObject if all(fault.code == _ALL_UNKNOWN for fault in faults) else Invalid
    raise kind(faults[0].detail, faults=faults, extra=beside_refusal(item))
