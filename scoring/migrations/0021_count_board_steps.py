"""The database counts a class's scores itself, in steps of their keys and in all.

Triggers, so that whatever writes a score is counted in the same statement: a service, staff, a
repair by hand. Counting what is there takes about a second a million scores, and writing waits
for it while reading goes on. PostgreSQL sums up a statement's rows; SQLite has triggers for each
row only.
"""

from django.db import migrations

STEP = 10**13
SCORES, STEPS, CLASSES = "scoring_score", "scoring_boardstep", "scoring_streamedclass"

COUNTED = f"""
    INSERT INTO {STEPS} (streamed_class_id, as_prescribed, step, entries)
    SELECT streamed_class_id, as_prescribed, key / {STEP}, COUNT(*)
    FROM {SCORES} GROUP BY 1, 2, 3"""
TOTALLED = f"""
    UPDATE {CLASSES} SET
      board_entries = (SELECT COUNT(*) FROM {SCORES} s WHERE s.streamed_class_id = {CLASSES}.id),
      board_prescribed = (SELECT COUNT(*) FROM {SCORES} s
                          WHERE s.streamed_class_id = {CLASSES}.id AND s.as_prescribed)"""


def _sqlite_in(row):
    return f"""
        INSERT INTO {STEPS} (streamed_class_id, as_prescribed, step, entries)
        VALUES ({row}.streamed_class_id, {row}.as_prescribed, {row}.key / {STEP}, 1)
        ON CONFLICT (streamed_class_id, as_prescribed, step) DO UPDATE SET entries = entries + 1;"""


def _sqlite_out(row):
    return f"""
        UPDATE {STEPS} SET entries = entries - 1
        WHERE streamed_class_id = {row}.streamed_class_id
          AND as_prescribed = {row}.as_prescribed AND step = {row}.key / {STEP};"""


def _sqlite_total(row, by):
    return f"""
        UPDATE {CLASSES} SET board_entries = board_entries {by} 1,
          board_prescribed = board_prescribed {by} {row}.as_prescribed
        WHERE id = {row}.streamed_class_id;"""


SQLITE = {
    "board_step_in": f"""
        CREATE TRIGGER board_step_in AFTER INSERT ON {SCORES}
        BEGIN {_sqlite_in("NEW")} {_sqlite_total("NEW", "+")} END""",
    "board_step_out": f"""
        CREATE TRIGGER board_step_out AFTER DELETE ON {SCORES}
        BEGIN {_sqlite_out("OLD")} {_sqlite_total("OLD", "-")} END""",
    "board_step_over": f"""
        CREATE TRIGGER board_step_over
        AFTER UPDATE OF streamed_class_id, key, as_prescribed ON {SCORES}
        WHEN NEW.key / {STEP} <> OLD.key / {STEP} OR NEW.as_prescribed <> OLD.as_prescribed
          OR NEW.streamed_class_id <> OLD.streamed_class_id
        BEGIN {_sqlite_out("OLD")} {_sqlite_in("NEW")} END""",
    "board_total_over": f"""
        CREATE TRIGGER board_total_over
        AFTER UPDATE OF streamed_class_id, as_prescribed ON {SCORES}
        WHEN NEW.as_prescribed <> OLD.as_prescribed
          OR NEW.streamed_class_id <> OLD.streamed_class_id
        BEGIN {_sqlite_total("OLD", "-")} {_sqlite_total("NEW", "+")} END""",
}


def _summed(rows):
    """What a statement did to steps and to classes; rows that stay where they were cancel out."""
    return f"""
      WITH moved AS (
        SELECT streamed_class_id, as_prescribed, key / {STEP} AS step, SUM(n) AS n
        FROM ({rows}) each GROUP BY 1, 2, 3 HAVING SUM(n) <> 0
      ), steps AS (
        INSERT INTO {STEPS} AS s (streamed_class_id, as_prescribed, step, entries)
        SELECT streamed_class_id, as_prescribed, step, n FROM moved ORDER BY 1, 2, 3
        ON CONFLICT (streamed_class_id, as_prescribed, step)
        DO UPDATE SET entries = s.entries + EXCLUDED.entries
      ), totals AS (
        SELECT streamed_class_id, SUM(n) AS n,
          COALESCE(SUM(n) FILTER (WHERE as_prescribed), 0) AS prescribed
        FROM moved GROUP BY 1
      )
      UPDATE {CLASSES} c SET board_entries = board_entries + t.n,
        board_prescribed = board_prescribed + t.prescribed
      FROM totals t WHERE c.id = t.streamed_class_id AND (t.n <> 0 OR t.prescribed <> 0);"""


FRESH = "SELECT streamed_class_id, as_prescribed, key, 1 AS n FROM fresh"
STALE = "SELECT streamed_class_id, as_prescribed, key, -1 AS n FROM stale"
POSTGRESQL = [
    f"""
    CREATE FUNCTION board_steps() RETURNS trigger LANGUAGE plpgsql AS $$
    BEGIN
      IF TG_OP = 'INSERT' THEN {_summed(FRESH)}
      ELSIF TG_OP = 'UPDATE' THEN {_summed(f"{FRESH} UNION ALL {STALE}")}
      ELSE {_summed(f'''{STALE} WHERE EXISTS (SELECT FROM {STEPS} b
              WHERE b.streamed_class_id = stale.streamed_class_id
                AND b.as_prescribed = stale.as_prescribed
                AND b.step = stale.key / {STEP})''')}
      END IF;
      RETURN NULL;
    END $$""",
    f"""
    CREATE TRIGGER board_step_in AFTER INSERT ON {SCORES} REFERENCING NEW TABLE AS fresh
    FOR EACH STATEMENT EXECUTE FUNCTION board_steps()""",
    f"""
    CREATE TRIGGER board_step_over AFTER UPDATE ON {SCORES}
    REFERENCING OLD TABLE AS stale NEW TABLE AS fresh
    FOR EACH STATEMENT EXECUTE FUNCTION board_steps()""",
    f"""
    CREATE TRIGGER board_step_out AFTER DELETE ON {SCORES} REFERENCING OLD TABLE AS stale
    FOR EACH STATEMENT EXECUTE FUNCTION board_steps()""",
]


def count(apps, schema_editor):
    # Triggers first: they lock the scores against writing until all is counted, so that none
    # comes in between the two.
    is_sqlite = schema_editor.connection.vendor == "sqlite"
    for statement in (*(SQLITE.values() if is_sqlite else POSTGRESQL), COUNTED, TOTALLED):
        schema_editor.execute(statement, params=None)


def uncount(apps, schema_editor):
    on = "" if schema_editor.connection.vendor == "sqlite" else f" ON {SCORES}"
    for name in SQLITE:
        schema_editor.execute(f"DROP TRIGGER IF EXISTS {name}{on}")
    if on:
        schema_editor.execute("DROP FUNCTION IF EXISTS board_steps()")


class Migration(migrations.Migration):

    dependencies = [("scoring", "0020_score_standing_index")]

    operations = [migrations.RunPython(count, uncount)]
