"""The world that the attacks are made on."""

from collections.abc import Iterator

import pytest
import time_machine

from tests.architecture.world import AFTER, build_world
from tests.scenario import Cast


@pytest.fixture
def world(cast: Cast) -> Iterator[dict[str, str]]:
    """The ids of one object of every kind in the cast's business."""
    with time_machine.travel(AFTER, tick=False):
        yield build_world(cast)
