"""What holds of every ranking of substitutes, whoever the client."""

from hypothesis import given, settings
from hypothesis import strategies as st

from programs.prescription.client_fit import REGION_PATTERNS, ClientLimits, exercise_warnings, fits
from programs.prescription.substitutes import SubstituteFinder, rank_substitutes
from tests.programs.prescription.catalogue_cast import catalogue

KEYS = sorted(catalogue())
THINGS = sorted({thing for facts in catalogue().values() for thing in facts.equipment})
MOVEMENTS = sorted({facts.pattern for facts in catalogue().values()}) + KEYS[::17]


@st.composite
def limits(draw):
    return ClientLimits(
        equipment=tuple(draw(st.lists(st.sampled_from(THINGS), max_size=8, unique=True))),
        avoided_movements=tuple(draw(st.lists(st.sampled_from(MOVEMENTS), max_size=4, unique=True))),
        avoided_regions=tuple(draw(st.lists(st.sampled_from(sorted(REGION_PATTERNS)), max_size=2, unique=True))),
        max_complexity=draw(st.integers(1, 3)),
    )


def ranked(key, own, candidates=None):
    return rank_substitutes(catalogue()[key], candidates or catalogue().values(), own)


@settings(max_examples=60, deadline=None)
@given(st.sampled_from(KEYS), limits())
def test_nothing_is_proposed_that_the_client_cannot_do(key, own):
    for found in ranked(key, own):
        assert list(exercise_warnings(catalogue()[found.exercise], own)) == []


@settings(max_examples=60, deadline=None)
@given(st.sampled_from(KEYS), limits())
def test_an_exercise_that_fits_comes_first_itself_and_else_not_at_all(key, own):
    found = [substitute.exercise for substitute in ranked(key, own)]
    if fits(catalogue()[key], own):
        assert found[0] == key
    else:
        assert key not in found


@settings(max_examples=40, deadline=None)
@given(st.sampled_from(KEYS), limits(), st.randoms(use_true_random=False))
def test_the_order_of_the_catalogue_makes_no_difference(key, own, random):
    shuffled = list(catalogue().values())
    random.shuffle(shuffled)
    assert ranked(key, own, shuffled) == ranked(key, own)


@settings(max_examples=40, deadline=None)
@given(st.sampled_from(KEYS), limits())
def test_closeness_falls_along_the_list_and_lies_between_none_and_all(key, own):
    ratios = [found.closeness_ratio for found in ranked(key, own) if found.exercise != key]
    assert ratios == sorted(ratios, reverse=True)
    assert all(0 <= ratio <= 1 for ratio in ratios)


@settings(max_examples=40, deadline=None)
@given(st.sampled_from(KEYS), limits())
def test_more_things_at_hand_never_take_a_substitute_away(key, own):
    if not own.equipment:
        return
    more = ClientLimits(
        equipment=tuple(THINGS),
        avoided_movements=own.avoided_movements,
        avoided_regions=own.avoided_regions,
        max_complexity=own.max_complexity,
    )
    assert {found.exercise for found in ranked(key, own)} <= {found.exercise for found in ranked(key, more)}


@settings(max_examples=25, deadline=None)
@given(st.lists(st.sampled_from(KEYS), min_size=1, max_size=6, unique=True), limits())
def test_conflicts_are_exactly_what_does_not_fit_and_each_proposal_fits(keys, own):
    used = [catalogue()[key] for key in keys]
    conflicts = SubstituteFinder(list(catalogue().values())).conflicts(used, own)
    assert [conflict.exercise for conflict in conflicts] == [facts.key for facts in used if not fits(facts, own)]
    for conflict in conflicts:
        assert conflict.substitute is None or fits(catalogue()[conflict.substitute], own)
