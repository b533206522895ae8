"""Databases of each release, made once and copied for each test."""

import pytest

from gymsite.releases import releases

from .old import make
from .places import new_place


@pytest.fixture(scope="session", params=[release.name for release in releases()])
def release(request):
    """The name of each release there was."""
    return request.param


@pytest.fixture(scope="session")
def _old(release, tmp_path_factory, django_db_blocker):
    place = new_place(tmp_path_factory.mktemp("old"))
    with django_db_blocker.unblock(), place.in_use():
        make(release)
    yield place
    with django_db_blocker.unblock():
        place.drop()


@pytest.fixture
def old(_old, tmp_path, django_db_blocker):
    """A database as that release left it."""
    place = _old.copy(tmp_path)
    with django_db_blocker.unblock():
        yield place
        place.drop()


@pytest.fixture
def empty(tmp_path, django_db_blocker):
    """A database without a table."""
    place = new_place(tmp_path)
    with django_db_blocker.unblock():
        yield place
        place.drop()
