"""A business's own copy of the exercise catalogue."""

from decimal import Decimal
from io import StringIO

from django.core.management import call_command

from coaching.tenancy.scope import business_scope
from programs.actions.catalogue import refresh_catalogue
from programs.catalogue.entries import load_entries
from programs.models import Exercise, ExerciseOrigin
from tests.programs.documents import assign, content, published, sessions
from tests.scenario import NOON, Cast


def test_a_new_business_has_every_exercise_of_the_shared_catalogue(cast: Cast) -> None:
    with business_scope(cast.business_id):
        rows = {row.key: row for row in Exercise.objects.all()}
    entries = {entry.key: entry for entry in load_entries()}
    assert rows.keys() == entries.keys()
    for key, entry in entries.items():
        row = rows[key]
        assert (row.name, tuple(row.aliases), row.pattern) == (entry.name, entry.aliases, entry.pattern)
        assert tuple(row.primary_muscles) == entry.primary_muscles
        assert (row.starts_at or None) == entry.starts_at
        assert row.phase_words == (entry.phase_words.model_dump() if entry.phase_words else None)
        assert (row.bodyweight_share, row.repetition_s) == (entry.bodyweight_share, entry.repetition_s)


def test_each_business_has_its_own_rows(cast: Cast, neighbour: Cast) -> None:
    with business_scope(cast.business_id):
        own = set(Exercise.objects.values_list("id", flat=True))
    with business_scope(neighbour.business_id):
        theirs = set(Exercise.objects.values_list("id", flat=True))
    assert not own & theirs


def test_refreshing_again_changes_nothing(cast: Cast) -> None:
    with business_scope(cast.business_id):
        done = refresh_catalogue(business_id=cast.business_id, now=NOON)
    assert (done.added, done.updated) == (0, 0)
    assert done.unchanged == len(load_entries())


def test_a_refresh_updates_what_the_business_left_alone_and_adds_what_is_new(cast: Cast) -> None:
    squat = next(entry for entry in load_entries() if entry.key == "back-squat")
    changed = squat.model_copy(update={"repetition_s": Decimal("5.25")})
    new = squat.model_copy(update={"key": "cathedral-squat", "name": "Cathedral squat", "aliases": ()})
    with business_scope(cast.business_id):
        done = refresh_catalogue(business_id=cast.business_id, now=NOON, entries=[changed, new])
        assert (done.added, done.updated, done.unchanged) == (1, 1, 0)
        row = Exercise.objects.get(key="back-squat")
        assert (row.repetition_s, row.row_version) == (Decimal("5.25"), 2)
        assert Exercise.objects.get(key="cathedral-squat").origin == ExerciseOrigin.SHARED


def test_a_refresh_writes_the_sessions_to_come_anew(cast: Cast) -> None:
    squat = next(entry for entry in load_entries() if entry.key == "back-squat")
    changed = squat.model_copy(update={"name": "Squat with the bar behind"})
    with business_scope(cast.business_id):
        assign(cast.coach, published(content(weeks=1)), cast.anna.id)
        refresh_catalogue(business_id=cast.business_id, now=NOON, entries=[changed])
        names = [
            slot["exercise_name"] for row in sessions(cast.anna.id) for slot in row.prescribed["blocks"][0]["slots"]
        ]
    assert changed.name in names
    assert squat.name not in names


def test_a_refresh_leaves_customised_rows_and_the_businesss_own_alone(cast: Cast) -> None:
    squat = next(entry for entry in load_entries() if entry.key == "back-squat")
    with business_scope(cast.business_id):
        Exercise.objects.filter(key="back-squat").update(name="Squat, our way", customised=True)
        Exercise.objects.filter(key="front-squat").update(name="Ours", origin=ExerciseOrigin.OWN)
        front = squat.model_copy(update={"key": "front-squat", "name": "Theirs"})
        refresh_catalogue(business_id=cast.business_id, now=NOON, entries=[squat, front])
        assert Exercise.objects.get(key="back-squat").name == "Squat, our way"
        assert Exercise.objects.get(key="front-squat").name == "Ours"


def test_the_command_refreshes_each_business_in_its_own_scope(cast: Cast, neighbour: Cast) -> None:
    for business in (cast, neighbour):
        with business_scope(business.business_id):
            Exercise.objects.filter(key="back-squat").update(name="Out of date")
    out = StringIO()
    call_command("refresh_catalogue", stdout=out)
    assert out.getvalue().count("1 updated") == 2
    for business in (cast, neighbour):
        with business_scope(business.business_id):
            assert Exercise.objects.get(key="back-squat").name != "Out of date"


def test_the_command_takes_one_business(cast: Cast, neighbour: Cast) -> None:
    out = StringIO()
    call_command("refresh_catalogue", "--business", str(cast.business_id), stdout=out)
    assert str(cast.business_id) in out.getvalue()
    assert str(neighbour.business_id) not in out.getvalue()
