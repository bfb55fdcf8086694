"""A business's own figures of time."""

from dataclasses import fields
from decimal import Decimal

import pytest

from programs.prescription.timeline_fields import TIMELINE_FIELDS, TimelineFieldError, timelines
from programs.prescription.timeline_policy import TimelinePolicy


def test_without_figures_of_its_own_a_business_goes_by_practice() -> None:
    found = timelines({})
    assert found.at("gym") == TimelinePolicy()
    assert found.at("home") == TimelinePolicy.at_home()


def test_every_figure_of_the_policy_but_the_explosive_second_can_be_changed() -> None:
    own = {field.name: field.most if field.default != field.most else field.least for field in TIMELINE_FIELDS}
    for changed, plain in (
        (timelines(own).gym, TimelinePolicy()),
        (timelines(own).home, TimelinePolicy.at_home()),
    ):
        same = {each.name for each in fields(plain) if getattr(changed, each.name) == getattr(plain, each.name)}
        assert same == {"explosive_s"}


def test_each_figure_changes_the_policy_and_no_two_change_it_alike() -> None:
    seen = [timelines({})]
    for field in TIMELINE_FIELDS:
        # To the low bound of repetitions both must go together; one more never crosses the other.
        found = timelines({field.name: field.default + 1})
        assert found not in seen, field.name
        seen.append(found)


@pytest.mark.parametrize("field", TIMELINE_FIELDS, ids=lambda field: field.name)
def test_a_default_lies_within_its_bounds_and_is_told_with_unit_and_source(field) -> None:
    assert field.least < field.default < field.most
    assert field.meaning.endswith(".")
    assert field.source
    if field.whole:
        assert field.default == int(field.default)


def test_a_rest_of_a_goal_is_that_of_its_kind_of_block() -> None:
    found = timelines({"rest_strength_s": Decimal(240), "paired_rest_strength_s": Decimal(100)}).gym
    assert found.assumed_rest_s("straight", "strength") == 240
    assert found.assumed_rest_s("paired", "strength") == 100
    assert found.assumed_rest_s("straight", "power") == 180


def test_the_fewest_repetitions_may_not_be_more_than_the_most() -> None:
    with pytest.raises(TimelineFieldError, match="The fewest repetitions, 30, are more than the most, 20") as error:
        timelines({"to_limit_reps_low": Decimal(30)})
    assert error.value.names == ("to_limit_reps_low", "to_limit_reps_high")
