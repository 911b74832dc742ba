import shutil

import pytest

from api.storage.engine import open_engine


@pytest.fixture
def engine(tmp_path, migrated_template):
    path = tmp_path / "dosebook.sqlite3"
    shutil.copy(migrated_template, path)
    opened = open_engine(f"sqlite:///{path}")
    yield opened
    opened.dispose()
