"""Who gets through at every address by every method: generated from the addresses there are.

A new address fails here until ``addresses.py`` says whom it is for, a new method of an old
one too. Denied is a way to sign in, 401, 403 or 404; everything else, a fault in what was
sent included, got through the gate.
"""

from contextlib import contextmanager

import pytest
from django.contrib import admin
from django.db import connection, transaction
from django.test import Client

from members.models import User
from scoring.services.classes import close_class

from .addresses import (
    ANY_COACH,
    COACHES,
    INSIDE,
    MEMBERS,
    METHODS,
    SIGNS_OUT,
    TABLE,
    VIEWERS,
    address,
    methods_of,
    ours,
    rules,
    with_keys,
)  # fmt: skip
from .conftest import NOW
from .scoring.classes import log, make_class

WRITES = ("INSERT", "UPDATE", "DELETE", "REPLACE")
# What a look at a page may write: when a session or a calendar's address was last used, and
# what is counted or kept ready: by a cache that is a table where there is no Redis, and the
# index by which workouts are searched, made of their texts where it lacks one.
BOOKKEEPING = {"cache", "django_session", "members_calendarfeed", "scoring_workoutindex"}


def test_every_address_says_whom_it_is_for():
    found = [pattern.name for pattern in ours()]
    assert sorted(found) == sorted(TABLE)


def send(client, method, name, where):
    """A request with nothing in it, undone again."""
    is_api = name.startswith("api-")
    kind = "application/json" if is_api else "application/x-www-form-urlencoded"
    with transaction.atomic():
        answer = client.generic(method, where, b"{}" if is_api else b"", content_type=kind)
        transaction.set_rollback(True)
    return answer


@pytest.fixture
def scene(people):
    return make_scene(people, "open", False)


def make_scene(people, state, hidden):
    streamed = make_class(people, is_open=state != "draft")
    seen = make_class(people)
    result = log(seen if state == "draft" else streamed, people.ana, "2+9").result
    if state == "closed":
        streamed = close_class(streamed_class=streamed, by=people.coach, now=NOW)
    if hidden:
        people.ana.shown_as = "unnamed"
        people.ana.save()
    return with_keys(people, streamed, result)


def clients_of(people, **kwargs):
    """A browser of each viewer, signed in."""
    staff = User.objects.filter(is_superuser=True).first()
    staff = staff or User.objects.create_superuser("staff@example.org")
    clients = {who: Client(raise_request_exception=False, **kwargs) for who in VIEWERS}
    for who, client in clients.items():
        if who != "stranger":
            client.force_login(staff if who == "staff" else getattr(people, who).user)
    return clients


def allowed(whom, state, hidden):
    return {
        "all": set(VIEWERS),
        "signed in": MEMBERS | {"staff"},
        "members": MEMBERS,
        "any coach": ANY_COACH,
        "coaches": COACHES,
        "owners": {"owner"},
        "class": COACHES if state == "draft" else INSIDE,
        # The workout is also that of a class that is open in every scene.
        "workout": INSIDE,
        "result": COACHES | {"ana"} if hidden else INSIDE,
        "owner of the result": COACHES | {"ana"},
        "site staff": {"staff"},
        "nobody": set(),
    }[whom]


def gets_through(answer):
    to_sign_in = answer.status_code == 302 and "/accounts/" in answer.url
    return answer.status_code not in (401, 403, 404) and not to_sign_in


@contextmanager
def writes():
    """The tables that are written to in the meantime."""
    tables = set()

    def look(execute, sql, params, many, context):
        words = sql.replace('"', " ").split()
        if words and words[0].upper() in WRITES:
            tables.add(
                next(word for word in words[1:] if word.upper() not in ("INTO", "FROM", "OR"))
            )
        return execute(sql, params, many, context)

    with connection.execute_wrapper(look):
        yield tables


def test_no_address_answers_to_a_method_that_says_not_whom_it_is_for(scene):
    client = clients_of(scene["people"])["owner"]
    for name in TABLE:
        for method in METHODS:
            if method in ("GET", "HEAD") and "GET" in methods_of(name):
                continue  # asked below
            code = send(client, method, name, address(name, scene)).status_code
            assert (code != 405) is (method in methods_of(name)), (name, method, code)
            assert code < 500, (name, method, code)
        if name in SIGNS_OUT:
            client = clients_of(scene["people"])["owner"]


def test_those_it_is_for_and_nobody_else_get_through_and_looking_changes_nothing(scene):
    clients = clients_of(scene["people"])
    wrong = []
    for name, method, whom in rules():
        where = address(name, scene)
        for who, client in clients.items():
            with writes() as tables:
                answer = send(client, method, name, where)
            through = gets_through(answer)
            if through is not (who in allowed(whom, "open", False)) or answer.status_code >= 500:
                wrong.append((name, method, who, answer.status_code))
            # OWASP ASVS 5.0.0, 3.5.3: safe methods change nothing.
            if method == "GET" and tables - BOOKKEEPING:
                wrong.append((name, who, tables))
            if method == "GET" and who == "owner":
                alike = send(client, "HEAD", name, where)
                if alike.status_code != answer.status_code or alike.getvalue():
                    wrong.append((name, "HEAD", who, alike.status_code))
        if name in SIGNS_OUT:
            clients = clients_of(scene["people"])
    assert wrong == [], wrong


@pytest.mark.parametrize(
    ("state", "hidden"),
    [("draft", False), ("closed", False), ("draft", True), ("open", True), ("closed", True)],
)
def test_a_class_not_open_and_a_name_not_shown_keep_them_out(people, state, hidden):
    scene = make_scene(people, state, hidden)
    clients = clients_of(people)
    by_name = {"result", "owner of the result"}
    matters = by_name if hidden else by_name | {"class", "workout"}
    wrong = []
    for name, method, whom in rules():
        if whom not in matters:
            continue
        for who, client in clients.items():
            code = send(client, method, name, address(name, scene))
            if gets_through(code) is not (who in allowed(whom, state, hidden)):
                wrong.append((name, method, who, code.status_code))
    assert wrong == [], wrong


def rows_of_all_tables():
    """Every row of the database as texts, by table."""
    found = {}
    with connection.cursor() as cursor:
        for table in set(connection.introspection.table_names(cursor)) - BOOKKEEPING:
            cursor.execute(f"SELECT * FROM {connection.ops.quote_name(table)}")
            found[table] = sorted(map(repr, cursor.fetchall()))
    return found


def test_after_looking_at_every_page_the_database_is_as_it_was(scene):
    clients = clients_of(scene["people"])
    before = rows_of_all_tables()
    for name, method, _ in rules():
        if method == "GET":
            clients["owner"].get(address(name, scene))
    after = rows_of_all_tables()
    assert [table for table in before if before[table] != after[table]] == []


# RFC 8058: a mail program takes somebody off a list by one POST, and has no page to take a
# token from; the address is its own secret.
WITHOUT_A_PAGE = {"unsubscribe"}


def test_a_browser_that_is_signed_in_changes_nothing_without_the_pages_token(scene):
    client = clients_of(scene["people"], enforce_csrf_checks=True)["owner"]
    wrong = []
    for name, method, _ in rules():
        if method != "GET":
            with writes() as tables:
                code = send(client, method, name, address(name, scene)).status_code
            if (code != 403 or bool(tables)) is not (name in WITHOUT_A_PAGE):
                wrong.append((name, method, code, tables))
    assert wrong == [], wrong


def test_the_admin_pages_are_for_the_sites_staff(people):
    clients = clients_of(people)
    paths = ["/admin/"]
    for model in admin.site._registry:
        inside = f"/admin/{model._meta.app_label}/{model._meta.model_name}/"
        paths += [inside, inside + "add/", inside + "1/change/", inside + "1/delete/"]
    assert len(paths) > 10
    for path in paths:
        for who in ("stranger", "foreign_coach", "owner"):
            for method in ("GET", "POST"):
                answer = clients[who].generic(method, path)
                assert answer.status_code == 302 and "login" in answer.url, (who, method, path)
        assert clients["staff"].get(path).status_code in (200, 302, 403, 404)
