"""What changes between versions, and what a draft's progression makes of its weeks."""

from dataclasses import dataclass
from uuid import UUID

from coaching.refusals import Fault, Invalid
from programs.models import Version
from programs.prescription.document import decode_version
from programs.prescription.progression import ProgressionError, ProgressionPreview, preview
from programs.prescription.structure import VersionContent
from programs.prescription.version_diff import Change, diff_versions
from programs.selectors.exercises import exercise_facts
from programs.selectors.prescriptions import named_by_key, stored_content
from programs.selectors.programs import get_version, get_version_named


class InvalidProgression(Invalid):
    """Rules that can't be followed; every fault with its place."""

    code = "invalid_progression"


@dataclass(frozen=True, slots=True)
class VersionChanges:
    """Two versions, and what the later one has otherwise."""

    version: Version
    against: Version
    changes: tuple[Change, ...]


def version_changes(*, version_id: UUID, against_id: UUID) -> VersionChanges:
    """Say what a version has otherwise than another one.

    Raises:
        NotFound: no such version.
        UnknownObject: no such version to hold it against.
    """
    version = get_version(version_id=version_id)
    against = get_version_named(version_id=against_id, pointer="?against")
    new, old = decode_version(version.content), decode_version(against.content)
    facts = exercise_facts(new.exercises | old.exercises)
    names = {found.key: found.name for found in facts.values()}
    return VersionChanges(version, against, diff_versions(named_by_key(old, facts), named_by_key(new, facts), names))


def version_preview(*, version_id: UUID, weeks: int | None) -> ProgressionPreview:
    """Expand a version's progression to explicit weeks, and say what each changes; store nothing.

    Args:
        version_id: the version.
        weeks: how many weeks there are to be; as many as are written if None.

    Raises:
        NotFound: no such version.
        InvalidProgression: a rule can't be followed.
    """
    content, facts = stored_content(get_version(version_id=version_id))
    try:
        return preview(content, weeks_wanted(content, weeks), facts)
    except ProgressionError as error:
        raise InvalidProgression(str(error), faults=progression_faults(error)) from None


def weeks_wanted(content: VersionContent, weeks: int | None) -> int:
    """Return how many weeks a version is to have: as asked, else as many as are written."""
    return len(content.weeks) if weeks is None else weeks


def progression_faults(error: ProgressionError) -> list[Fault]:
    """Return the faults of rules, at their places in the version's content; the count of weeks at the body's."""
    return [
        Fault(
            fault.pointer if fault.code == "out_of_range" else f"#/content{fault.pointer.removeprefix('#')}",
            fault.code,
            fault.message,
        )
        for fault in error.faults
    ]
