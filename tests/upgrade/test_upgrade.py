"""Data of every release there was come through today's migrations whole."""

import json
import lzma

from django.apps import apps
from django.core.management import get_commands

from gymsite.backups import rows

from . import data, look
from .old import make

# Raw results and what refers to them must come out as they went in, column by column.
FACTS = ("scoring_fact", "scoring_result", "scoring_submission", "members_auditentry")


def taken(release):
    return json.loads(lzma.decompress(data.path_of(release).read_bytes()))


def by_table():
    return {model._meta.db_table: model for model in rows.tables(apps)}


def test_a_release_s_data_have_rows_in_each_of_its_tables_and_are_small(release):
    assert all(each["rows"] for each in taken(release).values())
    assert data.path_of(release).stat().st_size < 300_000


def test_everything_a_release_held_is_there_after_migrating(release, old):
    old.manage("migrate", "--verbosity", 0)
    models, told = by_table(), taken(release)
    for table, each in told.items():
        if table in ("django_content_type", "auth_permission"):
            continue  # migrating adds to them
        assert models[table]._base_manager.using(old.alias).count() == len(each["rows"]), table
    for table in FACTS:
        found = models[table]._base_manager.using(old.alias).order_by("pk")
        now = [
            [rows.plain(value) for value in row]
            for row in found.values_list(*told[table]["columns"])
        ]
        assert now == told[table]["rows"], table


def test_today_s_program_works_on_a_release_s_data(release, old):
    old.manage("migrate", "--verbosity", 0)
    with old.in_use():
        found = look.pages()
        assert set(found.values()) == {200}, found
        assert look.moved() == {}
    if "verify" in get_commands():
        old.manage("verify")


def test_a_server_of_the_release_can_write_while_the_database_is_today_s(release, empty):
    """Every table takes a row that names only the columns of then."""
    with empty.in_use():
        make(release, is_rolling=True)
    models = by_table()
    for table, each in taken(release).items():
        assert models[table]._base_manager.using(empty.alias).count() == len(each["rows"]), table
