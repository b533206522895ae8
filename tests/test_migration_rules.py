"""Migrations after the last release let its servers go on working on the same database.

The rules stand in DEVELOPERS.md; ``migration_rules.py`` looks for what breaks them.
"""

import pytest
from django.db import connection, migrations, models
from django.db.migrations.executor import MigrationExecutor
from django.db.migrations.loader import MigrationLoader

from gymsite import gently
from gymsite.releases import latest, releases

from .migration_rules import problems, unreasoned
from .upgrade import data
from .upgrade.at import OURS

REASONED = "RemoveField scoring.fact.note"


def released():
    """The state at the last release, and our migrations that came after it, in order."""
    loader = MigrationLoader(None)
    graph, release = loader.graph, latest()
    before = {
        node for app, name in release.last.items() for node in graph.forwards_plan((app, name))
    }
    after = []
    for leaf in graph.leaf_nodes():
        for node in graph.forwards_plan(leaf):
            if node[0] in OURS and node not in before and node not in after:
                after.append(node)
    others = [leaf for leaf in graph.leaf_nodes() if leaf[0] not in OURS]
    state = loader.project_state([*others, *release.last.items()])
    return state, [graph.nodes[node] for node in after]


def test_no_migration_since_the_last_release_stops_somebody():
    state, since = released()
    told = {str(migration): unreasoned(state, migration) for migration in since}
    assert {name: said for name, said in told.items() if said} == {}


def test_each_release_names_migrations_that_are_there_and_has_its_data():
    known = MigrationLoader(None).graph.nodes
    for release in releases():
        assert set(release.last) == set(OURS)
        assert all(node in known for node in release.last.items()), release.name
        assert data.path_of(release.name).is_file(), release.name


class Made(migrations.Migration):
    """As one in a file of its own; this one's docstring and reasons are this file's."""


def one(*operations, app="scoring", atomic=True):
    made = Made("9999_made_here", app)
    made.operations, made.atomic = list(operations), atomic
    return made


def said(*operations, app="scoring", atomic=True):
    state, _ = released()
    return [each.key for each in problems(state, one(*operations, app=app, atomic=atomic))]


def fill(apps, schema_editor):
    pass


INDEX = models.Index(fields=["created_at"], name="fact_created")
CHECK = models.CheckConstraint(condition=models.Q(number__gte=1), name="fact_number_again")
FOREIGN = models.ForeignKey("members.gym", models.CASCADE, null=True)
STOPS = {
    "a field goes": migrations.RemoveField("fact", "note"),
    "a field is renamed": migrations.RenameField("fact", "note", "words"),
    "a table goes": migrations.DeleteModel("Pain"),
    "a table is renamed": migrations.RenameModel("Pain", "Ache"),
    "a field that old inserts leave out": migrations.AddField(
        "fact", "colour", models.CharField(default="", max_length=9)
    ),
    "a field that may no longer be null": migrations.AlterField(
        "fact", "effort", models.PositiveSmallIntegerField()
    ),
    "a field of another type": migrations.AlterField("fact", "note", models.IntegerField()),
    "a shorter field": migrations.AlterField("fact", "mark", models.CharField(max_length=2)),
    "an index under a lock": migrations.AddIndex("fact", INDEX),
    "an index that comes with its field": migrations.AddField("fact", "gym", FOREIGN),
    "a check under a lock": migrations.AddConstraint("fact", CHECK),
    "a rule that old rows may break": migrations.AddConstraint(
        "classtemplate", models.UniqueConstraint(fields=["name"], name="one_name")
    ),
    "SQL of one's own": migrations.RunSQL("SELECT 1"),
    "filling without a way back": migrations.RunPython(fill),
    "a gentle index within a transaction": gently.AddIndexGently("fact", INDEX),
}
PASSES = {
    "a field that may be null": migrations.AddField(
        "fact", "colour", models.CharField(null=True, max_length=9)
    ),
    "a field that the database fills": migrations.AddField(
        "fact", "colour", models.CharField(db_default="", max_length=9)
    ),
    "other words": migrations.AlterField(
        "fact",
        "effort",
        models.PositiveSmallIntegerField("how hard", null=True, blank=True, help_text="1 to 10"),
    ),
    "a new table": migrations.CreateModel(
        "Colour", [("id", models.BigAutoField(primary_key=True)), ("name", models.TextField())]
    ),
    "an index on a small table": migrations.AddIndex(
        "classtemplate", models.Index(fields=["name"], name="template_name")
    ),
    "filling with a way back": migrations.RunPython(fill, migrations.RunPython.noop),
}


@pytest.mark.parametrize("what", STOPS)
def test_what_stops_somebody_is_told(what):
    assert len(said(STOPS[what])) == 1


@pytest.mark.parametrize("what", PASSES)
def test_what_stops_nobody_passes(what):
    assert said(PASSES[what]) == []


def test_a_gentle_index_and_check_pass_outside_of_a_transaction():
    assert said(gently.AddIndexGently("fact", INDEX), atomic=False) == []
    assert said(gently.AddCheckGently("fact", CHECK), atomic=False) == []


def test_a_table_made_since_the_release_may_be_changed_at_will():
    made = PASSES["a new table"]
    assert said(made, migrations.RemoveField("Colour", "name")) == []


def test_filling_and_changing_tables_are_two_migrations():
    both = said(
        PASSES["a field that may be null"], migrations.RunPython(fill, migrations.RunPython.noop)
    )
    assert both == ["RunPython fill"]


def test_a_reason_lets_it_pass_and_must_be_one(monkeypatch):
    import sys

    def told():
        state, _ = released()
        return unreasoned(state, one(STOPS["a field goes"]))

    here = sys.modules[__name__]
    assert len(told()) == 1
    monkeypatch.setattr(here, "SAFE", {REASONED: "no"}, raising=False)
    assert len(told()) == 1
    monkeypatch.setattr(here, "SAFE", {REASONED: "no release has ever read it"})
    assert told() == []
    monkeypatch.setattr(here, "SAFE", {REASONED: "no release has ever read it", "X y": "z" * 20})
    assert told() == ["X y stands in SAFE and is not done"]


@pytest.fixture
def table(transactional_db):
    """A table of its own, as the state knows it."""
    state, _ = released()
    made = migrations.CreateModel(
        "Colour", [("id", models.BigAutoField(primary_key=True)), ("size", models.IntegerField())]
    )
    run(state, made)
    yield state
    with connection.schema_editor() as editor:
        editor.execute("DROP TABLE scoring_colour")


def run(state, operation):
    """Run one operation as its migration would; the state after it."""
    made = one(operation, atomic=operation.atomic is not False)
    with connection.schema_editor(atomic=made.atomic) as editor:
        made.apply(state, editor)
    return state


def names():
    with connection.cursor() as cursor:
        return connection.introspection.get_constraints(cursor, "scoring_colour")


def test_gentle_indexes_come_and_go(table):
    index = models.Index(fields=["size"], name="colour_size")
    run(table, gently.AddIndexGently("colour", index))
    assert names()["colour_size"]["columns"] == ["size"]
    run(table, gently.RemoveIndexGently("colour", "colour_size"))
    assert "colour_size" not in names()


def test_a_gentle_index_that_died_is_made_again(table):
    """CREATE INDEX CONCURRENTLY leaves one that is not valid if it dies."""
    if connection.vendor == "postgresql":
        with connection.cursor() as cursor:
            cursor.execute("CREATE INDEX colour_size ON scoring_colour (id)")
            cursor.execute(
                "UPDATE pg_index SET indisvalid = false WHERE indexrelid = 'colour_size'::regclass"
            )
    run(table, gently.AddIndexGently("colour", models.Index(fields=["size"], name="colour_size")))
    assert names()["colour_size"]["columns"] == ["size"]


def test_a_gentle_check_holds_and_refuses_rows_that_break_it(table):
    check = models.CheckConstraint(condition=models.Q(size__gte=1), name="colour_some")
    with connection.cursor() as cursor:
        cursor.execute("INSERT INTO scoring_colour (size) VALUES (0)")
    with pytest.raises(Exception, match="colour_some"):
        run(table.clone(), gently.AddCheckGently("colour", check))
    with connection.cursor() as cursor:
        cursor.execute("UPDATE scoring_colour SET size = 1")
    run(table, gently.AddCheckGently("colour", check))  # goes on where the first one stopped
    with pytest.raises(Exception, match="colour_some"), connection.cursor() as cursor:
        cursor.execute("INSERT INTO scoring_colour (size) VALUES (0)")


def test_batches_come_to_every_row_once(table, monkeypatch):
    monkeypatch.setattr(gently, "BATCH", 3)
    Colour = table.apps.get_model("scoring", "Colour")
    Colour.objects.bulk_create(Colour(size=1) for _ in range(8))
    sizes = []

    def double(rows):
        sizes.append(rows.update(size=models.F("size") * 2))

    assert gently.in_batches(Colour.objects.all(), double) == 8
    assert sizes == [3, 3, 2]
    assert set(Colour.objects.values_list("size", flat=True)) == {2}
    assert MigrationExecutor(connection).loader.detect_conflicts() == {}
