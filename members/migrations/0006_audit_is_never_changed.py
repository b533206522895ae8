"""The database refuses to change or delete an audit entry.

Let through is what erasing a person needs: references to null, words to nothing.
"""

from django.db import migrations

TABLE = "members_auditentry"
KEPT = ("id", "gym_id", "at", "what", "subject", "subject_key")
REFERENCES = ("by_id", "member_id")
EMPTY = {"why": "''", "details": "'{}'"}
SAID = "audit entries are never changed or deleted"


def _changed(is_not, cast):
    """A condition that holds for every change but those of erasing."""
    parts = [f"NEW.{name} {is_not} OLD.{name}" for name in KEPT]
    parts += [
        f"(NEW.{name} IS NOT NULL AND NEW.{name} {is_not} OLD.{name})" for name in REFERENCES
    ]
    parts += [
        f"(NEW.{name} <> {empty}{cast.get(name, '')} AND NEW.{name} {is_not} OLD.{name})"
        for name, empty in EMPTY.items()
    ]
    return " OR ".join(parts)


SQLITE = {
    "audit_no_change": f"""
        CREATE TRIGGER audit_no_change BEFORE UPDATE ON {TABLE}
        WHEN {_changed("IS NOT", {})}
        BEGIN SELECT RAISE(ABORT, '{SAID}'); END""",
    "audit_no_delete": f"""
        CREATE TRIGGER audit_no_delete BEFORE DELETE ON {TABLE}
        BEGIN SELECT RAISE(ABORT, '{SAID}'); END""",
}
POSTGRESQL = [
    f"""
    CREATE FUNCTION audit_refuse() RETURNS trigger LANGUAGE plpgsql AS $$
    BEGIN RAISE EXCEPTION '{SAID}' USING ERRCODE = 'integrity_constraint_violation'; END $$""",
    f"""
    CREATE TRIGGER audit_no_change BEFORE UPDATE ON {TABLE} FOR EACH ROW
    WHEN ({_changed("IS DISTINCT FROM", {"details": "::jsonb"})}) EXECUTE FUNCTION audit_refuse()""",
    f"""
    CREATE TRIGGER audit_no_delete BEFORE DELETE ON {TABLE} FOR EACH ROW
    EXECUTE FUNCTION audit_refuse()""",
]


def lock(apps, schema_editor):
    vendor = schema_editor.connection.vendor
    for statement in SQLITE.values() if vendor == "sqlite" else POSTGRESQL:
        schema_editor.execute(statement, params=None)


def unlock(apps, schema_editor):
    on = "" if schema_editor.connection.vendor == "sqlite" else f" ON {TABLE}"
    for name in SQLITE:
        schema_editor.execute(f"DROP TRIGGER IF EXISTS {name}{on}")
    if on:
        schema_editor.execute("DROP FUNCTION IF EXISTS audit_refuse()")


class Migration(migrations.Migration):

    dependencies = [("members", "0005_audit_and_rights")]

    operations = [migrations.RunPython(lock, unlock)]
