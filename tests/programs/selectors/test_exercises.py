"""The catalogue as it is searched, and as the computations read it."""

from decimal import Decimal

import pytest

from coaching.refusals import NotFound
from coaching.tenancy.models import new_id
from coaching.tenancy.scope import business_scope
from programs.catalogue.entries import load_entries
from programs.models import Exercise
from programs.selectors.exercises import (
    exercise_facts,
    get_exercise,
    list_exercises,
    resolve_exercises,
)
from tests.scenario import Cast


def test_filters_narrow_together(cast: Cast) -> None:
    with business_scope(cast.business_id):
        found = list_exercises(pattern="squat", muscle="quadriceps", equipment="barbell")
        keys = {row.key for row in found}
    expected = {
        entry.key
        for entry in load_entries()
        if entry.pattern == "squat" and "quadriceps" in entry.muscles and "barbell" in entry.equipment
    }
    assert keys == expected
    assert "back-squat" in keys


def test_a_search_finds_every_word_in_name_alias_or_key(cast: Cast) -> None:
    alias = next(entry for entry in load_entries() if entry.aliases)
    with business_scope(cast.business_id):
        assert "back-squat" in {row.key for row in list_exercises(search="SQUAT back")}
        assert alias.key in {row.key for row in list_exercises(search=alias.aliases[0])}
        assert not list_exercises(search="back nothing-like-it")
        assert not list_exercises(search="100%")


def test_an_exercise_is_named_by_key_or_id(cast: Cast, neighbour: Cast) -> None:
    with business_scope(neighbour.business_id):
        theirs = str(Exercise.objects.get(key="back-squat").id)
    with business_scope(cast.business_id):
        row = get_exercise("back-squat")
        assert get_exercise(str(row.id)) == row
        for unknown in ("no-such-lift", str(new_id()), theirs, ""):
            with pytest.raises(NotFound):
                get_exercise(unknown)


def test_names_resolve_in_one_query_and_unknown_ones_are_left_out(cast: Cast, django_assert_num_queries) -> None:
    with business_scope(cast.business_id):
        squat = Exercise.objects.get(key="back-squat")
        with django_assert_num_queries(1):
            found = resolve_exercises(["back-squat", str(squat.id), "Back-Squat", "no-such-lift"])
    assert found == {"back-squat": squat.id, str(squat.id): squat.id, "Back-Squat": squat.id}


def test_facts_are_the_catalogues_own(cast: Cast, django_assert_num_queries) -> None:
    entries = {entry.key: entry for entry in load_entries()}
    with business_scope(cast.business_id), django_assert_num_queries(1):
        facts = exercise_facts(list(entries))
    assert facts.keys() == entries.keys()
    for key, entry in entries.items():
        found = facts[key]
        assert (found.name, found.pattern, found.starts_at) == (entry.name, entry.pattern, entry.starts_at)
        assert (found.restful_end, found.rests_muscles) == (entry.restful_end, entry.rests_muscles)
        assert (found.repetition_s, found.bodyweight_share) == (entry.repetition_s, entry.bodyweight_share)
        assert isinstance(found.repetition_s, Decimal)
        assert (found.phase_words is None) == (entry.phase_words is None)
