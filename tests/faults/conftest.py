"""A site of each test's own. What is slow to make is made once and copied."""

from __future__ import annotations

import shutil
from collections.abc import Callable, Iterator
from pathlib import Path
from tempfile import TemporaryDirectory

import pytest
from django.conf import settings

from .processes import Site
from .services import Postgres, Redis

is_embedded = settings.DATABASES["default"]["ENGINE"].endswith("sqlite3")
embedded = pytest.mark.skipif(not is_embedded, reason="runs in the pass on SQLite")
full = pytest.mark.skipif(is_embedded, reason="runs in the pass on PostgreSQL and Redis")


@pytest.fixture(scope="session")
def sqlite_scene(tmp_path_factory) -> tuple[Path, dict]:
    folder = tmp_path_factory.mktemp("scene")
    site = Site(folder, f"sqlite:///{folder / 'scene.sqlite3'}")
    return folder / "scene.sqlite3", site.tell("scene.make")


@pytest.fixture(scope="session")
def postgres_scene(tmp_path_factory) -> Iterator[tuple[Postgres, dict]]:
    # Not in the folder of pytest, which is closed to the user that runs the cluster.
    with TemporaryDirectory(prefix="gym-cluster-") as folder:
        cluster = Postgres(Path(folder))
        try:
            url = cluster.copy("scene", of="template1")
            yield cluster, Site(tmp_path_factory.mktemp("scene"), url).tell("scene.make")
        finally:
            cluster.end()


@pytest.fixture
def site_on(tmp_path) -> Iterator[Callable[..., Site]]:
    made: list[Site] = []

    def make(database: str, scene: dict, redis: str = "", **more: str) -> Site:
        site = Site(tmp_path, database, redis, more=more, scene=scene)
        made.append(site)
        return site

    yield make
    for site in made:
        site.end()


@pytest.fixture
def small_site(sqlite_scene, site_on, tmp_path) -> Site:
    """The embedded default: SQLite and nothing else."""
    made, scene = sqlite_scene
    shutil.copy(made, tmp_path / "site.sqlite3")
    return site_on(f"sqlite:///{tmp_path / 'site.sqlite3'}", scene)


@pytest.fixture
def redis(tmp_path) -> Iterator[Redis]:
    server = Redis(tmp_path)
    yield server
    server.end()


@pytest.fixture
def postgres(postgres_scene) -> Postgres:
    return postgres_scene[0]


@pytest.fixture
def big_site(postgres_scene, redis, site_on, tmp_path) -> Site:
    """A bigger gym's: PostgreSQL, and a Redis as cache, board store and broker."""
    cluster, scene = postgres_scene
    name = "".join(c if c.isalnum() else "_" for c in tmp_path.name)[-50:]
    return site_on(cluster.copy(name, of="scene"), scene, redis.url)
