import pytest

from tests.sync.world import World


@pytest.fixture
def world(tmp_path):
    made = World(tmp_path)
    yield made
    made.close()
