"""What migrations may do while the release before still runs on the same database.

``problems`` looks at the operations after a release, in their order, and tells which of them
would stop somebody. A migration that does one of them all the same says why that is safe, in a
table of its own: ``SAFE = {"RemoveField members.membership.year_of_birth": "why"}``.
"""

from __future__ import annotations

import ast
import inspect
import sys
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

from django.db import models
from django.db.migrations import Migration, RunPython, operations
from django.db.migrations.state import ProjectState
from django.db.models.fields import NOT_PROVIDED

from gymsite import gently

# Tables that grow with every class and every member, so that looking at all their rows, or
# keeping others off them for as long, is felt.
BIG = frozenset(
    [
        "members.user",
        "members.membership",
        "members.auditentry",
        "scoring.streamedclass",
        "scoring.result",
        "scoring.fact",
        "scoring.score",
        "scoring.submission",
        "scoring.message",
        "scoring.importline",
        "scoring.forecastline",
        "scoring.pain",
        "scoring.followup",
        "scoring.membernote",
        "scoring.questionasked",
        "scoring.changedclass",
    ]
)
# What a field's definition holds that the database never sees.
WORDS_ONLY = frozenset(
    [
        "blank",
        "choices",
        "db_column",
        "editable",
        "error_messages",
        "help_text",
        "limit_choices_to",
        "on_delete",
        "related_name",
        "related_query_name",
        "validators",
        "verbose_name",
        "default",
    ]
) - {"db_column"}


@dataclass(frozen=True, slots=True)
class Problem:
    """``key`` is how a migration names it in its table; ``why`` says what would be right."""

    key: str
    why: str


def problems(state: ProjectState, migration: Migration) -> list[Problem]:
    """What a migration does that needs a reason. ``state`` is moved on by it."""
    found: list[Problem] = []
    new_models = _new_models(state)
    has_schema = any(not isinstance(each, RunPython) for each in migration.operations)
    for operation in migration.operations:
        found += _of(operation, state, migration, new_models, has_schema=has_schema)
        if isinstance(operation, operations.CreateModel):
            new_models.add(f"{migration.app_label}.{operation.name_lower}")
        operation.state_forwards(migration.app_label, state)
    return found


def _new_models(state: ProjectState) -> set[str]:
    """Models made after the release, which nobody of then knows; kept with the state."""
    made: set[str] = state.__dict__.setdefault("made_since", set())
    return made


def unreasoned(state: ProjectState, migration: Migration) -> list[str]:
    """In words: what has no reason, and reasons for what is not done."""
    module = sys.modules[migration.__module__]
    safe: dict[str, str] = dict(getattr(module, "SAFE", {}))
    found = problems(state, migration)
    told = [f"{each.key}: {each.why}" for each in found if len(safe.get(each.key, "")) < 10]
    keys = {each.key for each in found}
    told += [f"{key} stands in SAFE and is not done" for key in safe if key not in keys]
    return told


def _of(
    operation: operations.base.Operation,
    state: ProjectState,
    migration: Migration,
    new_models: set[str],
    *,
    has_schema: bool,
) -> Iterator[Problem]:
    kind, app = type(operation).__name__, migration.app_label
    name = getattr(operation, "model_name", "").lower() or getattr(operation, "name", "").lower()
    table = f"{app}.{name}"
    label = _label(kind, app, operation)
    if isinstance(operation, RunPython):
        yield from _of_python(operation, migration, label, has_schema=has_schema)
        return
    if isinstance(operation, (operations.RunSQL, operations.SeparateDatabaseAndState)):
        yield Problem(label, "what it does can't be seen from here; say why it is safe")
        return
    if table in new_models:
        return
    match operation:
        case operations.RemoveField() | operations.DeleteModel():
            yield Problem(label, "the release before still reads it; drop it in a later one")
        case operations.RenameField() | operations.RenameModel() | operations.AlterModelTable():
            yield Problem(label, "the release before knows the old name; add, copy, drop later")
        case operations.AddField():
            yield from _of_new_field(operation, table, label)
        case operations.AlterField():
            before = state.models[app, name].fields[operation.name]
            yield from _of_changed_field(operation, before, table, label)
        case gently.AddIndexGently() | gently.AddCheckGently() | gently.RemoveIndexGently():
            if migration.atomic:
                yield Problem(label, "it needs atomic = False on the migration, and stands alone")
        case operations.AddIndex() | operations.RemoveIndex():
            if table in BIG:
                yield Problem(label, f"{kind} locks a big table; use {kind}Gently")
        case operations.AddConstraint():
            if isinstance(operation.constraint, models.CheckConstraint) and table not in BIG:
                return
            yield Problem(
                label,
                "it looks at every row of a big table under a lock; use AddCheckGently"
                if isinstance(operation.constraint, models.CheckConstraint)
                else "rows that the release before writes may break it",
            )
        case operations.AlterUniqueTogether() | operations.AlterIndexTogether():
            yield Problem(label, "use constraints and indexes with names")


def _label(kind: str, app: str, operation: operations.base.Operation) -> str:
    """``AddField scoring.fact.note``."""
    told = getattr(operation, "constraint", None) or getattr(operation, "index", None)
    inner = getattr(told, "name", "") or getattr(operation, "name", "")
    if hasattr(operation, "old_name"):
        inner = f"{operation.old_name}"
    model = getattr(operation, "model_name", "")
    return f"{kind} " + ".".join(str(part).lower() for part in (app, model, inner) if part)


def _of_new_field(operation: operations.AddField, table: str, label: str) -> Iterator[Problem]:
    field = operation.field
    if field.many_to_many:
        return
    if not field.null and field.db_default is NOT_PROVIDED:
        yield Problem(
            label,
            "rows of the release before don't name it; let it be null, or give it a db_default",
        )
    if table in BIG and (field.db_index or field.unique):
        yield Problem(
            label,
            "its index is made under a lock; db_index=False, and AddIndexGently in another one",
        )


def _of_changed_field(
    operation: operations.AlterField, before: models.Field, table: str, label: str
) -> Iterator[Problem]:
    now = operation.field
    if before.null and not now.null:
        yield Problem(label, "the release before may write null; tighten it in a later one")
    (_, was, _, kw_before), (_, is_, _, kw_now) = before.deconstruct()[0:4], now.deconstruct()[0:4]
    if was != is_:
        yield Problem(label, f"{was} becomes {is_}: every row is written anew under a lock")
        return
    changed = {
        key
        for key in {*kw_before, *kw_now}
        if key not in WORDS_ONLY | {"null"} and kw_before.get(key) != kw_now.get(key)
    }
    if changed == {"max_length"} and now.max_length >= before.max_length:
        return
    if changed:
        yield Problem(label, f"{', '.join(sorted(changed))} changes for rows that are there")


def _of_python(
    operation: RunPython, migration: Migration, label: str, *, has_schema: bool
) -> Iterator[Problem]:
    module = sys.modules[migration.__module__]
    label = f"RunPython {operation.code.__name__}"
    if operation.reverse_code is None:
        yield Problem(label, "give it a way back, RunPython.noop at least")
    if has_schema:
        yield Problem(label, "filling and changing tables are two migrations on PostgreSQL")
    if not (module.__doc__ or "").strip():
        yield Problem(label, "say in the migration's docstring what it fills and how much that is")
    if imports := _imports_of_ours(Path(inspect.getfile(module))):
        yield Problem(
            label,
            f"{', '.join(imports)}: today's code changes, apps.get_model() stays as it was",
        )


def _imports_of_ours(path: Path) -> list[str]:
    found = set()
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        names = [node.module or ""] if isinstance(node, ast.ImportFrom) else []
        names += [alias.name for alias in node.names] if isinstance(node, ast.Import) else []
        found |= {name for name in names if name.split(".")[0] in ("members", "scoring")}
    return sorted(name for name in found if ".migrations" not in name)
