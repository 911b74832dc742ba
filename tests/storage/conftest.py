import pytest

from api.storage.engine import EVERYWHERE, open_engine


@pytest.fixture
def engine(database_url):
    opened = open_engine(database_url, reach=EVERYWHERE)
    yield opened
    opened.dispose()
