"""Old backups go when a new one is known to be good, and only those."""

from gymsite.backups.manifest import backups_in

from .looking import backup


def dated(folder, *days):
    """Backups as of days in the past, by copying nothing but what makes them one."""
    whole = backups_in(folder, "board")[-1]
    for day in days:
        path = folder / f"board-202601{day:02}T031500Z"
        path.mkdir()
        for each in whole.iterdir():
            (path / each.name).write_bytes(each.read_bytes())


def test_the_oldest_go_and_everything_else_stays(site):
    folder = backup(site).parent
    dated(folder, 1, 2, 3)
    (folder / "before-restore-20260101T000000Z").mkdir()
    (folder / "notes.txt").write_text("mine")
    said = site.manage("backup", folder, "--keep", 3)
    names = [path.name for path in backups_in(folder, "board")]
    assert len(names) == 3 and names[0] == "board-20260103T031500Z"
    assert "removed board-20260101T031500Z\nremoved board-20260102T031500Z\n" in said
    assert (folder / "before-restore-20260101T000000Z").is_dir()
    assert (folder / "notes.txt").read_text() == "mine"


def test_nothing_goes_when_the_new_one_fails(site, empty):
    folder = backup(site).parent
    dated(folder, 1, 2)
    before = backups_in(folder)
    empty.manage("backup", folder, "--keep", 1, ok=False)
    assert backups_in(folder) == before


def test_none_can_not_be_kept(site):
    assert "at least one" in site.manage("backup", site.folder / "b", "--keep", 0, ok=False)
