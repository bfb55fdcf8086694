"""Write drafts of a variant, freeze them, and take them out of use."""

from collections.abc import Mapping
from datetime import datetime
from uuid import UUID

from django.db.models import Max

from coaching.actions.row_versions import Versions, bump
from coaching.refusals import Conflict, Fault, NotFound, UnknownObject
from programs.models import Variant, Version, VersionState
from programs.prescription.analysis import AnalysisPolicy
from programs.prescription.document import decode_version, encode_version
from programs.prescription.progression import ProgressionError, expand
from programs.prescription.structure import ExerciseFacts, VersionContent
from programs.prescription.version_analysis import analyse_version
from programs.selectors.exercises import exercise_facts
from programs.selectors.prescriptions import content_hash, read_content
from programs.selectors.timelines import business_timelines
from programs.selectors.version_changes import progression_faults, weeks_wanted


class DraftOpen(Conflict):
    """A variant has one draft at a time."""

    code = "draft_open"


class FrozenVersion(Conflict):
    """A published or withdrawn version never changes."""

    code = "frozen_version"


class NotPublishable(Conflict):
    """A draft that nobody could follow as it stands."""

    code = "not_publishable"


class NotPublished(Conflict):
    """Only a published version can be withdrawn."""

    code = "not_published"


def write_draft(*, program_id: UUID, variant_id: UUID, content: object) -> Version:
    """Begin a new version of a variant.

    Raises:
        NotFound: no such program.
        UnknownObject: the program has no such variant.
        DraftOpen: the variant has a draft already.
        InvalidPrescription: the content can't be followed.
    """
    # Locked against a second draft begun at the same time.
    variant = Variant.objects.select_for_update(no_key=True).filter(id=variant_id).first()
    if variant is None or variant.program_id != program_id:
        raise UnknownObject.at("#/variant", "The program has no variant with this id.")
    draft = Version.objects.filter(variant=variant, state=VersionState.DRAFT).values("id", "number").first()
    if draft is not None:
        raise DraftOpen(
            f"Version {draft['number']} of this variant is a draft still: change it with "
            f"PATCH /api/v1/program-versions/{draft['id']}, or publish it, before you begin another."
        )
    read = read_content(content, pointer="#/content")
    last = Version.objects.filter(variant=variant).aggregate(last=Max("number"))["last"] or 0
    return Version.objects.create(
        variant=variant, number=last + 1, content=read.document, content_hash=read.content_hash
    )


def replace_content(*, version_id: UUID, versions: Versions, content: object) -> None:
    """Replace a draft's content, whole.

    Raises:
        NotFound: no such version.
        FrozenVersion: it is published or withdrawn.
        PreconditionFailed: it was changed since.
        InvalidPrescription: the content can't be followed.
    """
    version = _locked(version_id)
    if version.state != VersionState.DRAFT:
        raise FrozenVersion(
            f"Version {version.number} is {version.state} and never changes; begin a new draft of the variant."
        )
    read = read_content(content, pointer="#/content")
    bump(
        Version.objects.all(),
        version_id,
        versions,
        content=read.document,
        content_hash=read.content_hash,
    )


def publish_version(
    *, actor_membership_id: UUID | None, version_id: UUID, now: datetime, weeks: int | None = None
) -> None:
    """Freeze a draft, so that it can be assigned; its progression is expanded to explicit weeks and kept beside them.

    Args:
        actor_membership_id: who publishes.
        version_id: the draft.
        now: when.
        weeks: how many weeks there are to be; as many as are written if None.

    Raises:
        NotFound: no such version.
        FrozenVersion: it is published or withdrawn already.
        NotPublishable: its progression can't be followed, or its analysis has errors; each with its place.
    """
    version = _locked(version_id)
    if version.state != VersionState.DRAFT:
        raise FrozenVersion(f"Version {version.number} is {version.state} already.")
    written = decode_version(version.content)
    facts = exercise_facts(written.exercises)
    content = _expanded(written, weeks, facts)
    analysis = analyse_version(content, facts, policy=AnalysisPolicy(timeline=business_timelines().gym))
    if analysis.has_errors:
        faults = [
            Fault(
                f"#/content{finding.pointer.removeprefix('#')}",
                finding.code,
                f"{finding.message} {finding.suggestion}".strip(),
            )
            for finding in analysis.findings
            if finding.severity == "error"
        ]
        raise NotPublishable(f"It can't be followed as it stands: {faults[0].detail}", faults=faults)
    document = encode_version(content)
    bump(
        Version.objects.all(),
        version_id,
        None,
        content=document,
        content_hash=content_hash(document),
        state=VersionState.PUBLISHED,
        published_at=now,
        published_by_id=actor_membership_id,
    )


def withdraw_version(*, version_id: UUID) -> None:
    """Take a published version out of new use; who follows it goes on.

    Raises:
        NotFound: no such version.
        NotPublished: it is a draft, or withdrawn already.
    """
    version = _locked(version_id)
    if version.state != VersionState.PUBLISHED:
        raise NotPublished(f"Version {version.number} is {version.state}; only a published one is withdrawn.")
    bump(Version.objects.all(), version_id, None, state=VersionState.WITHDRAWN)


def _expanded(content: VersionContent, weeks: int | None, facts: Mapping[str, ExerciseFacts]) -> VersionContent:
    wanted = weeks_wanted(content, weeks)
    if weeks is None and not content.progression:
        return content
    if content.progression and wanted == 1:
        raise NotPublishable(
            "Its progression makes later weeks from week 1: say with `weeks` how many there are to be.",
            faults=[Fault("#/weeks", "required", "Send weeks, 2 or more; POST …/preview shows them first.")],
        )
    try:
        return expand(content, wanted, facts)
    except ProgressionError as error:
        raise NotPublishable(f"It can't be expanded: {error}", faults=progression_faults(error)) from None


def _locked(version_id: UUID) -> Version:
    found = Version.objects.select_for_update(no_key=True).filter(id=version_id).first()
    if found is None:
        raise NotFound("There is no program version with this id.")
    return found
