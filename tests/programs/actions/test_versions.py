"""Drafts, published versions, and what freezes."""

import hashlib
import json

import pytest

from coaching.refusals import Invalid, NotFound, PreconditionFailed, UnknownObject
from coaching.tenancy.models import new_id
from coaching.tenancy.scope import business_scope
from programs.actions.programs import change_program, create_program
from programs.actions.versions import (
    DraftOpen,
    FrozenVersion,
    NotPublishable,
    NotPublished,
    publish_version,
    replace_content,
    withdraw_version,
    write_draft,
)
from programs.models import Exercise, Variant, Version, VersionState
from programs.selectors.prescriptions import InvalidPrescription
from tests.programs.documents import content, published
from tests.scenario import NOON, Cast


def draft(document: object) -> Version:
    program = create_program(name="Ground Work", variants=["Three days"])
    return write_draft(program_id=program.id, variant_id=Variant.objects.get(program=program).id, content=document)


def test_a_draft_keeps_its_document_and_the_hash_of_its_canonical_form(cast: Cast) -> None:
    with business_scope(cast.business_id):
        row = Version.objects.get(id=draft(content()).id)
    canonical = json.dumps(row.content, sort_keys=True, separators=(",", ":"), ensure_ascii=False).encode()
    assert row.content_hash == hashlib.sha256(canonical).hexdigest()
    assert (row.number, row.state) == (1, VersionState.DRAFT)


def test_an_exercise_named_by_its_id_is_stored_by_its_key(cast: Cast) -> None:
    document = content(weeks=1, days=1)
    with business_scope(cast.business_id):
        squat = Exercise.objects.get(key="back-squat")
        document["weeks"][0]["days"][0]["blocks"][0]["slots"][0]["exercise"] = str(squat.id)
        row = draft(document)
        same = draft(content(weeks=1, days=1))
    assert row.content["weeks"][0]["days"][0]["blocks"][0]["slots"][0]["exercise"] == "back-squat"
    assert row.content_hash == same.content_hash


def test_an_unknown_exercise_is_refused_at_its_place_with_near_names(cast: Cast, neighbour: Cast) -> None:
    document = content(weeks=1, days=1)
    slot = document["weeks"][0]["days"][0]["blocks"][0]["slots"][0]
    with business_scope(neighbour.business_id):
        theirs = str(Exercise.objects.get(key="back-squat").id)
    with business_scope(cast.business_id):
        for name in ("back-squatt", theirs):
            slot["exercise"] = name
            with pytest.raises(InvalidPrescription) as refused:
                draft(document)
            (fault,) = refused.value.faults
            assert fault.pointer == "#/content/weeks/0/days/0/blocks/0/slots/0/exercise"
            assert fault.code == "unknown_exercise"
        slot["exercise"] = "back-squatt"
        with pytest.raises(InvalidPrescription, match="back-squat"):
            draft(document)


def test_a_malformed_document_is_refused_with_every_fault(cast: Cast) -> None:
    document = content(weeks=1, days=1)
    group = document["weeks"][0]["days"][0]["blocks"][0]["slots"][0]["sets"][1]
    group |= {"tempo": "4X11", "load": {"kind": "absolute", "load_kg": 80, "load_lb": 175}, "repz": 5}
    with business_scope(cast.business_id), pytest.raises(InvalidPrescription) as refused:
        draft(document)
    place = "#/content/weeks/0/days/0/blocks/0/slots/0/sets/1"
    assert {fault.pointer for fault in refused.value.faults} == {f"{place}/tempo", f"{place}/load", f"{place}/repz"}


def test_a_variant_has_one_draft_at_a_time(cast: Cast) -> None:
    with business_scope(cast.business_id):
        first = draft(content())
        with pytest.raises(DraftOpen, match=str(first.id)):
            write_draft(program_id=first.variant.program_id, variant_id=first.variant_id, content=content())
        publish_version(actor_membership_id=cast.coach.id, version_id=first.id, now=NOON)
        second = write_draft(program_id=first.variant.program_id, variant_id=first.variant_id, content=content(weeks=3))
    assert second.number == 2


def test_a_draft_is_begun_only_for_a_variant_of_the_program(cast: Cast) -> None:
    with business_scope(cast.business_id):
        other = draft(content())
        program = create_program(name="Another", variants=["One"])
        for variant_id in (other.variant_id, new_id()):
            with pytest.raises(UnknownObject):
                write_draft(program_id=program.id, variant_id=variant_id, content=content())


def test_a_published_version_never_changes(cast: Cast) -> None:
    with business_scope(cast.business_id):
        version = published()
        with pytest.raises(FrozenVersion):
            replace_content(version_id=version.id, versions=None, content=content(weeks=5))
        with pytest.raises(FrozenVersion):
            publish_version(actor_membership_id=cast.coach.id, version_id=version.id, now=NOON)
        after = Version.objects.get(id=version.id)
    assert (after.content, after.content_hash) == (version.content, version.content_hash)


def test_publishing_says_who_and_when(cast: Cast) -> None:
    with business_scope(cast.business_id):
        row = draft(content())
        publish_version(actor_membership_id=cast.coach.id, version_id=row.id, now=NOON)
        after = Version.objects.get(id=row.id)
    assert (after.state, after.published_at, after.published_by_id) == ("published", NOON, cast.coach.id)


def test_a_draft_that_nobody_could_follow_is_not_published(cast: Cast) -> None:
    with business_scope(cast.business_id):
        row = draft({"weeks": []})
        with pytest.raises(NotPublishable) as refused:
            publish_version(actor_membership_id=cast.coach.id, version_id=row.id, now=NOON)
        assert Version.objects.get(id=row.id).state == VersionState.DRAFT
    assert refused.value.faults[0].pointer == "#/content/weeks"


def test_a_draft_whose_exercise_has_gone_is_not_published(cast: Cast) -> None:
    with business_scope(cast.business_id):
        row = draft(content(weeks=1, days=1))
        Exercise.objects.filter(key="back-squat").update(key="squat-of-old")
        with pytest.raises(NotPublishable) as refused:
            publish_version(actor_membership_id=cast.coach.id, version_id=row.id, now=NOON)
    assert refused.value.faults[0].pointer.startswith("#/content/weeks/0/days/0/blocks/0/slots/0")


def test_content_is_replaced_only_at_the_version_that_was_read(cast: Cast) -> None:
    with business_scope(cast.business_id):
        row = draft(content())
        replace_content(version_id=row.id, versions=frozenset({1}), content=content(weeks=3))
        with pytest.raises(PreconditionFailed):
            replace_content(version_id=row.id, versions=frozenset({1}), content=content(weeks=4))
        after = Version.objects.get(id=row.id)
    assert (len(after.content["weeks"]), after.row_version) == (3, 2)


def test_only_a_published_version_is_withdrawn(cast: Cast) -> None:
    with business_scope(cast.business_id):
        row = draft(content())
        with pytest.raises(NotPublished):
            withdraw_version(version_id=row.id)
        publish_version(actor_membership_id=cast.coach.id, version_id=row.id, now=NOON)
        withdraw_version(version_id=row.id)
        assert Version.objects.get(id=row.id).state == VersionState.WITHDRAWN
        with pytest.raises(NotPublished):
            withdraw_version(version_id=row.id)


def test_another_businesss_version_is_not_there(cast: Cast, neighbour: Cast) -> None:
    with business_scope(neighbour.business_id):
        theirs = draft(content())
    with business_scope(cast.business_id):
        with pytest.raises(NotFound):
            publish_version(actor_membership_id=None, version_id=theirs.id, now=NOON)
        with pytest.raises(NotFound):
            withdraw_version(version_id=theirs.id)
        with pytest.raises(NotFound):
            replace_content(version_id=theirs.id, versions=None, content=content())


def test_variants_of_a_program_have_names_of_their_own(cast: Cast) -> None:
    with business_scope(cast.business_id):
        with pytest.raises(Invalid) as refused:
            create_program(name="Twice", variants=["Three days", "three days"])
        program = create_program(name="Once", variants=["Three days"])
        with pytest.raises(Invalid) as added:
            change_program(program_id=program.id, versions=None, add_variants=["Home kit", "THREE DAYS"])
    assert refused.value.faults[0].pointer == "#/variants/1/name"
    assert added.value.faults[0].pointer == "#/add_variants/1/name"
