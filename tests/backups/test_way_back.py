"""A backup brings back what was there, whatever happened since."""

import stat

import pytest
from django.db import connections
from knox.models import AuthToken

from gymsite.backups.manifest import backups_in, read_manifest
from members.models import AuditEntry
from scoring.models import Fact, Result, Score, StreamedClass

from ..upgrade.places import is_sqlite
from .looking import SETTLED, backup, digests, objects


def destroy(place):
    """Lose results, change a workout, and let a table be gone."""
    with connections[place.alias].cursor() as cursor:
        cursor.execute("UPDATE scoring_fact SET note = 'gone'")
        cursor.execute("DELETE FROM scoring_score")
        cursor.execute("UPDATE scoring_workout SET title = 'gone'")
        cursor.execute("DROP TABLE scoring_pain")
    place.forget()


def test_all_rows_come_back_as_they_were(site):
    before = digests(site, without=SETTLED)
    facts = digests(site)["scoring_fact"]
    path = backup(site, "--verify")
    destroy(site)
    assert objects(site, Score).count() == 0
    site.forget()

    said = site.manage("restore", path, "--replace")

    assert digests(site, without=SETTLED) == before
    assert digests(site)["scoring_fact"] == facts
    assert said.rstrip().splitlines()[-1].startswith(f"Restored {path.name}: ")


def test_it_comes_back_into_an_empty_database(site, empty):
    before = digests(site, without=SETTLED)
    empty.manage("restore", backup(site))
    assert digests(empty, without=SETTLED) == before


def test_the_audit_trail_is_locked_again_and_tells_of_the_restore(site, empty):
    empty.manage("restore", backup(site))
    deed = objects(empty, AuditEntry).filter(what="record-restore").first()
    assert deed.by is None and "what stood on" in deed.subject
    with pytest.raises(Exception, match="never changed"):
        objects(empty, AuditEntry).filter(pk=deed.pk).update(subject="another")


def test_new_rows_get_new_numbers_after_a_restore(site, empty):
    empty.manage("restore", backup(site))
    last = objects(empty, Result).order_by("-pk").first()
    gone = last.pk
    new = Result(
        streamed_class_id=last.streamed_class_id,
        member_id=objects(empty, StreamedClass).get(pk=last.streamed_class_id).coach_id,
    )
    new.save(using=empty.alias)
    assert new.pk == gone + 1


def test_data_are_only_replaced_when_told_so_and_are_put_aside_first(site):
    path = backup(site)
    destroy(site)
    before = digests_of_lost(site)
    said = site.manage("restore", path, ok=False)
    assert "holds data" in said and "--replace" in said
    assert digests_of_lost(site) == before

    site.manage("restore", path, "--replace")
    (aside,) = backups_in(path.parent, "before-restore")
    assert read_manifest(aside).rows["scoring_score"] == 0
    assert "scoring_pain" not in read_manifest(aside).rows


def digests_of_lost(place):
    found = objects(place, Score).count(), objects(place, Fact).count()
    place.forget()
    return found


def test_boards_have_versions_that_nobody_has_seen_and_sign_ins_end(site, empty):
    path = backup(site)
    old = dict(objects(site, StreamedClass).values_list("pk", "board_version"))
    site.forget()
    empty.manage("restore", path)
    new = dict(objects(empty, StreamedClass).values_list("pk", "board_version"))
    # One a second at most since the backup, and on another site's clock as well.
    assert all(new[pk] > version + 1_000_000 for pk, version in old.items())
    assert not objects(empty, AuthToken).exists()


def test_sign_ins_stay_if_asked(site, empty):
    empty.manage("restore", backup(site), "--keep-sign-ins")
    assert objects(empty, AuthToken).exists()


def test_an_older_program_s_backup_is_brought_up(site, empty):
    site.manage("migrate", "scoring", "0016", "--verbosity", 0)
    path = backup(site)
    assert "scoring_questionasked" not in read_manifest(path).rows
    said = empty.manage("restore", path)
    assert "Brought up to this program by" in said
    assert "No planned migration operations" in empty.manage("migrate", "--plan")


def test_only_its_owner_may_read_a_backup(site):
    path = backup(site)
    modes = [stat.S_IMODE(each.stat().st_mode) for each in (path, *path.iterdir())]
    assert not any(mode & 0o077 for mode in modes)


def test_a_manifest_says_when_by_what_and_how_much(site):
    manifest = read_manifest(backup(site))
    assert manifest.kind == ("sqlite" if is_sqlite() else "postgresql")
    assert manifest.rows["scoring_fact"] == objects(site, Fact).count()
    assert "0017_questions_asked" in manifest.migrations["scoring"]
    assert len(manifest.sha256) == 64 and manifest.size > 10_000
    assert manifest.files.startswith("none")
