"""The database and its models as they stood at a release."""

from __future__ import annotations

from django.db import connection
from django.db.migrations.executor import MigrationExecutor
from django.db.migrations.state import ProjectState

from gymsite.releases import Release

OURS = ("members", "scoring")


def targets(release: Release) -> list[tuple[str, str]]:
    """The release's last migrations; of other people's applications what is installed now."""
    graph = MigrationExecutor(connection).loader.graph
    others = [node for node in graph.leaf_nodes() if node[0] not in OURS]
    return [*others, *release.last.items()]


def state(release: Release) -> ProjectState:
    """All models as they were."""
    executor = MigrationExecutor(connection)
    return executor.loader.project_state(targets(release))


def migrate(release: Release) -> None:
    """Bring an empty database to the release and not further."""
    MigrationExecutor(connection).migrate(targets(release))
