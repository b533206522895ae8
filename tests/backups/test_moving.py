"""A site that moves to another database has everything there, on either kind."""

from contextlib import closing

import pytest
from django.db import connections

from gymsite.backups import moving
from members.models import Gym
from scoring.models import Fact, RecomputeRun

from ..upgrade.places import Place
from .looking import digests, objects


@pytest.fixture
def other(tmp_path, django_db_blocker):
    """An empty SQLite file, whatever the kind in use."""
    place = Place(f"sqlite:///{tmp_path / 'other.sqlite3'}", tmp_path, "other")
    with django_db_blocker.unblock():
        yield place
        place.forget()


def test_every_row_is_there_and_new_ones_go_on(site, empty):
    before = digests(site)
    said = site.manage("move_to", empty.url)
    assert digests(empty) == before == digests(site)
    assert f"{sum(count for count, _ in before.values())} rows are there" in said
    last = objects(empty, Gym).order_by("pk").last()
    new = Gym(name="Quay", slug="quay-after")
    new.save(using=empty.alias)
    assert new.pk > last.pk
    assert "No planned migration operations" in empty.manage("migrate", "--plan")


def test_from_the_kind_in_use_to_sqlite(site, other):
    before = digests(site)
    site.manage("move_to", other.url)
    with closing(connections[other.alias]):
        assert digests(other) == before


def test_a_database_that_holds_something_is_refused(site, _today):
    before = digests(_today)
    assert "already" in site.manage("move_to", _today.url, ok=False)
    assert digests(_today) == before


def test_what_does_not_fit_moves_nothing(site, empty, monkeypatch):
    from gymsite.backups import rows

    real = rows.write

    def loses_a_row(model, found, using="default"):
        listed = list(found)
        return real(model, listed[:-1] if model is Fact else listed, using)

    monkeypatch.setattr(rows, "write", loses_a_row)
    said = site.manage("move_to", empty.url, ok=False)
    # PostgreSQL misses it by a reference to it, SQLite by the digest.
    assert "scoring_fact" in said and "Nothing was moved" in said
    assert objects(empty, Gym).count() == 0


@pytest.mark.parametrize("url", ["", "mysql://x/y", "nonsense"])
def test_no_address_of_a_database_is_told(site, url):
    said = site.manage("move_to", *([url] if url else []), ok=False)
    assert "address" in said


def test_the_database_in_use_is_no_place_to_move_to(site):
    assert "in use" in site.manage("move_to", site.url, ok=False)


def test_what_a_trigger_did_is_not_done_again(site, empty):
    """A trigger that counts up: the new database has the count of the old one, and the trigger."""
    table = "scoring_recomputerun"
    before = digests(site)
    assert before[table][0] > 0
    real = moving.run_manage
    made = "UPDATE scoring_streamedclass SET board_version = board_version + 1"

    def migrate_and_add_a_trigger(url, *args):
        said = real(url, *args)
        if args[0] == "migrate":
            for statement in counting(table, made, connections[empty.alias].vendor):
                with connections[empty.alias].cursor() as cursor:
                    cursor.execute(statement)
            empty.forget()
        return said

    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(moving, "run_manage", migrate_and_add_a_trigger)
        site.manage("move_to", empty.url)
    assert digests(empty) == before
    row = objects(empty, RecomputeRun).first()
    row.pk = None
    row.save(using=empty.alias)
    assert digests(empty)["scoring_streamedclass"] != before["scoring_streamedclass"]


def counting(table, made, vendor):
    """A trigger that does something for each new row of a table."""
    if vendor == "sqlite":
        return [f"CREATE TRIGGER counts_up AFTER INSERT ON {table} BEGIN {made}; END"]
    return [
        f"CREATE FUNCTION counts_up() RETURNS trigger LANGUAGE plpgsql AS "
        f"$$ BEGIN {made}; RETURN NULL; END $$",
        f"CREATE TRIGGER counts_up AFTER INSERT ON {table} FOR EACH ROW "
        f"EXECUTE FUNCTION counts_up()",
    ]
