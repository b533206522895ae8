"""What tests share: a gym with people, classes on its board, and a clean board store."""

import os
from dataclasses import dataclass
from datetime import UTC, datetime
from importlib import import_module

import pytest
from django.conf import settings
from django.db import transaction
from django.db.backends.postgresql.operations import DatabaseOperations as PostgresqlOperations
from django.db.backends.sqlite3.base import DatabaseOperations
from hypothesis import HealthCheck
from hypothesis import settings as hypothesis_settings

from members.limits import counts
from members.models import Gym, Membership, Role, User
from scoring import snapshots
from scoring.mapping import credit_table
from scoring.pages import opened_part
from scoring.selectors import (
    board_lines,
    classes,
    impossible,
    judged_lately,
    moments,
    past,
    rank_ranges,
)
from scoring.services.recompute_rows import _again

hypothesis_settings.register_profile(
    "project", deadline=None, suppress_health_check=[HealthCheck.too_slow]
)
# For make fuzz: what fails is printed so that it can be tried again elsewhere.
hypothesis_settings.register_profile(
    "nightly", hypothesis_settings.get_profile("project"), print_blob=True
)
hypothesis_settings.load_profile(os.environ.get("HYPOTHESIS_PROFILE", "project"))

NOW = datetime(2026, 11, 24, 18, 30, tzinfo=UTC)

TWO_LADDERS = """Two ladders and a tide
cap 18:00

18-12-6
goblet squat @ 20 kg
hollow rock
  or tuck rock, credit 0.75

14-10-6
single-arm row @ 16 kg, alternating
hand-release push-up
  or knee push-up, credit 0.7

amrap in the time left, one side per round
4 push press @ 16 kg
8 reverse lunge
12 sit-up
"""

FOR_TIME = """Two ladders
cap 14:00

18-12-6
goblet squat @ 20 kg
hollow rock
  or tuck rock, credit 0.75

14-10-6
single-arm row @ 16 kg, alternating
hand-release push-up
  or knee push-up, credit 0.7
"""


@dataclass
class People:
    """A gym's cast: an owner, a coach, members, and somebody of another gym."""

    gym: Gym
    owner: Membership
    coach: Membership
    ana: Membership
    ben: Membership
    cleo: Membership
    stranger_gym: Gym
    foreigner: Membership
    foreign_coach: Membership

    @property
    def members(self) -> list[Membership]:
        return [self.ana, self.ben, self.cleo]


def add_member(gym: Gym, name: str, role: str = Role.MEMBER, *, email: str = "") -> Membership:
    user = User.objects.create_user(email or f"{name.lower().replace(' ', '.')}@example.org")
    return Membership.objects.create(gym=gym, user=user, display_name=name, role=role)


def make_people() -> People:
    gym = Gym.objects.create(name="Harbour Street", slug="harbour", timezone="Europe/Lisbon")
    other = Gym.objects.create(name="Hilltop", slug="hilltop")
    return People(
        gym=gym,
        owner=add_member(gym, "Olga Owner", Role.OWNER),
        coach=add_member(gym, "Carl Coach", Role.COACH),
        ana=add_member(gym, "Ana Sol"),
        ben=add_member(gym, "Ben Okoro"),
        cleo=add_member(gym, "Cleo Wren"),
        stranger_gym=other,
        foreigner=add_member(other, "Finn Far"),
        foreign_coach=add_member(other, "Cora Other", Role.COACH),
    )


@pytest.fixture
def people(db) -> People:
    return make_people()


@pytest.fixture(autouse=True)
def _clean_boards():
    """Boards of one test must not be seen by the next: ids come again."""
    yield
    moments.forget()
    board_lines.forget()
    classes.forget()
    past.forget()
    snapshots.forget_read()
    rank_ranges.forget()
    impossible.forget()
    judged_lately.forget()
    opened_part.forget()
    credit_table.cache_clear()
    counts.clear()
    _again.cache_clear()
    if settings.REDIS_URL:
        import redis

        client = redis.Redis.from_url(settings.REDIS_URL)
        for key in client.scan_iter(f"*{settings.REDIS_PREFIX}*"):
            client.delete(key)


@pytest.fixture(scope="session", autouse=True)
def _audit_can_be_flushed():
    """Tests that commit are cleaned up after by deleting every row, which SQLite does one by
    one and the audit trail refuses: its triggers step aside for that moment only."""
    locks = import_module("members.migrations.0006_audit_is_never_changed").SQLITE
    flush = DatabaseOperations.execute_sql_flush

    def unlocked_flush(self, sql_list):
        with transaction.atomic(using=self.connection.alias), self.connection.cursor() as cursor:
            for name in locks:
                cursor.execute(f"DROP TRIGGER IF EXISTS {name}")
        flush(self, sql_list)
        with self.connection.cursor() as cursor:
            for statement in locks.values():
                cursor.execute(statement)

    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(DatabaseOperations, "execute_sql_flush", unlocked_flush)
        yield


@pytest.fixture(scope="session", autouse=True)
def _few_rows_are_flushed_quickly():
    """PostgreSQL truncates fifty tables in a third of a second, however few rows are in them, and
    deletes what a test has left in a hundredth."""
    truncating = PostgresqlOperations.sql_flush

    def deleting(self, style, tables, *, reset_sequences=False, allow_cascade=False):
        if reset_sequences or allow_cascade or not tables:
            return truncating(
                self, style, tables, reset_sequences=reset_sequences, allow_cascade=allow_cascade
            )
        with self.connection.cursor() as cursor:
            cursor.execute(
                "SELECT DISTINCT tgrelid::regclass::text FROM pg_trigger WHERE NOT tgisinternal"
            )
            triggered = [name for (name,) in cursor.fetchall()]
        return [
            # Triggers that refuse, or count what goes, step aside for that moment only.
            *(f"ALTER TABLE {name} DISABLE TRIGGER USER" for name in triggered),
            *(f"DELETE FROM {self.quote_name(name)}" for name in tables),
            "SET CONSTRAINTS ALL IMMEDIATE",  # a table can't be altered while some wait
            *(f"ALTER TABLE {name} ENABLE TRIGGER USER" for name in triggered),
        ]

    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(PostgresqlOperations, "sql_flush", deleting)
        yield


@pytest.fixture(scope="session")
def in_ci() -> bool:
    return os.environ.get("CI", "").lower() == "true"
