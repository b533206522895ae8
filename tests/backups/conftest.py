"""A site with rows in every table, for each test its own."""

import pytest

from gymsite.releases import latest

from ..upgrade.conftest import empty  # noqa: F401 - a fixture of these tests, too
from ..upgrade.old import make
from ..upgrade.places import new_place


@pytest.fixture(scope="session")
def _today(tmp_path_factory, django_db_blocker):
    place = new_place(tmp_path_factory.mktemp("today"))
    with django_db_blocker.unblock():
        with place.in_use():
            make(latest().name)
        place.manage("migrate", "--verbosity", 0)
    yield place
    with django_db_blocker.unblock():
        place.drop()


@pytest.fixture
def site(_today, tmp_path, django_db_blocker):
    """A database of today's program with something in all of it."""
    place = _today.copy(tmp_path)
    with django_db_blocker.unblock():
        yield place
        place.drop()
