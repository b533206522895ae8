"""Migrations say what the models say, and run from nothing."""

from io import StringIO

import pytest
from django.core.management import call_command
from django.db import connection
from django.db.migrations.executor import MigrationExecutor


def test_models_have_not_drifted_from_migrations(db):
    out = StringIO()
    try:
        call_command("makemigrations", check=True, dry_run=True, stdout=out, stderr=out)
    except SystemExit:
        pytest.fail("Run manage.py makemigrations:\n" + out.getvalue())


def test_every_migration_is_applied_and_no_branch_is_left(db):
    executor = MigrationExecutor(connection)
    assert executor.migration_plan(executor.loader.graph.leaf_nodes()) == []
    assert executor.loader.detect_conflicts() == {}
