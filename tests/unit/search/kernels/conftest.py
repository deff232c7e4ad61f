"""Random lays for the kernels' tests."""

from __future__ import annotations

import pytest

from nesting.search.prepared.world import World
from tests.unit.search.kernels.twins import stars, world_of


@pytest.fixture(params=[False, True], ids=["strip", "hides"])
def world(request: pytest.FixtureRequest) -> World:
    return world_of(stars(8), sheets=request.param)
