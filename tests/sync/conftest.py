import pytest

from tests.sync.world import World


@pytest.fixture
def world(tmp_path, database_url):
    made = World(tmp_path, database_url=database_url)
    yield made
    made.close()
