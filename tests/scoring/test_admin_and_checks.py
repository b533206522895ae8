"""The admin only shows; the checks speak up before a member meets the fault."""

import pytest
from django.apps import apps
from django.contrib import admin
from django.core.checks import run_checks
from django.db import connections

from members.models import User

from .classes import log, make_class


def ids():
    return {message.id for message in run_checks(tags=["scoring"])}


def test_a_sound_site_passes():
    assert ids() == set()


def test_a_redis_address_that_is_none_is_told(settings):
    settings.REDIS_URL = "localhost:6379"
    assert "scoring.E001" in ids()


def test_work_without_a_broker_is_told(settings):
    settings.CELERY_TASK_ALWAYS_EAGER, settings.CELERY_BROKER_URL = False, ""
    assert "scoring.W001" in ids()


def test_sqlite_without_immediate_transactions_is_told(monkeypatch):
    monkeypatch.setattr(connections["default"], "vendor", "sqlite")
    monkeypatch.setitem(connections["default"].settings_dict, "OPTIONS", {})
    assert "scoring.E002" in ids()


@pytest.fixture
def staff(db, client):
    client.force_login(User.objects.create_superuser("root@example.org"))
    return client


def test_the_admin_lists_and_opens_every_kind_of_row_but_changes_none(people, staff):
    log(make_class(people), people.ana, "2+9", "tuck rock")
    for model in apps.get_app_config("scoring").get_models():
        if model not in admin.site._registry:
            continue
        base = f"/admin/scoring/{model._meta.model_name}/"
        assert staff.get(base).status_code == 200, base
        assert staff.get(f"{base}add/").status_code == 403, base
        for row in model.objects.all()[:1]:
            assert staff.get(f"{base}{row.pk}/change/").status_code == 200
            assert staff.post(f"{base}{row.pk}/change/", {}).status_code == 403
            assert staff.post(f"{base}{row.pk}/delete/", {"post": "yes"}).status_code == 403
            assert model.objects.filter(pk=row.pk).exists()
