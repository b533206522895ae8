"""A year of birth told before bodies had rows of their own is not lost, there and back."""

import pytest
from django.db import connection
from django.db.migrations.executor import MigrationExecutor

OLD, NEW = [("members", "0002_zone_and_calendar")], [("members", "0004_no_year_in_membership")]


def migrate(to):
    executor = MigrationExecutor(connection)
    executor.migrate(to)
    return MigrationExecutor(connection).loader.project_state(to).apps


@pytest.mark.django_db(transaction=True)
def test_years_move_to_bodies_and_back():
    leaves = MigrationExecutor(connection).loader.graph.leaf_nodes()
    try:
        apps = migrate(OLD)
        gym = apps.get_model("members", "Gym").objects.create(name="Old", slug="old")
        memberships = apps.get_model("members", "Membership").objects
        told = memberships.create(gym=gym, display_name="Told", year_of_birth=1987)
        memberships.create(gym=gym, display_name="Silent")
        apps = migrate(NEW)
        bodies = apps.get_model("members", "Body").objects
        assert list(bodies.values_list("membership", "year_of_birth")) == [(told.pk, 1987)]
        apps = migrate(OLD)
        assert apps.get_model("members", "Membership").objects.get(pk=told.pk).year_of_birth == 1987
    finally:
        migrate(leaves)
