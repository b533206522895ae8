"""Templates: frames for classes, of all the gym's coaches, and no one else's."""

import html

import pytest
from django.urls import reverse

from members.models import AuditEntry
from scoring.models import ClassTemplate
from scoring.problems import Refused
from scoring.selectors.templates import template_for, templates_for
from scoring.services.templates import MAX_TEXT, remove_template, save_template

from ..conftest import NOW
from .classes import make_class

TEXT = "Tuesday\ncap ___\n\namrap 8:00\n__ (a push)\n"


def keep(by, name="Tuesday", text=TEXT, **kwargs):
    return save_template(by=by, name=name, text=text, now=NOW, **kwargs)


def test_a_template_is_kept_as_typed_readable_or_not(people):
    row = keep(people.coach, "  Tuesday   strength ", TEXT.replace("\n", "\r\n"), note=" soft ")
    row.refresh_from_db()
    assert (row.name, row.text, row.note) == ("Tuesday strength", TEXT, "soft")
    assert list(templates_for(viewer=people.owner)) == [row]


@pytest.mark.parametrize("who", ["ana", "foreigner", "foreign_coach"])
def test_nobody_else_sees_or_changes_it(people, who):
    row, viewer = keep(people.coach), getattr(people, who)
    assert template_for(viewer=viewer, pk=row.pk) is None
    with pytest.raises(Refused):
        keep(viewer, "Mine now", template=row)
    with pytest.raises(Refused):
        remove_template(template=row, by=viewer, now=NOW)
    row.refresh_from_db()
    assert row.name == "Tuesday"


@pytest.mark.parametrize(
    ("given", "columns"),
    [
        ({"name": " ", "text": "\n "}, ["name", "text"]),
        ({"text": "x" * MAX_TEXT}, ["text"]),
        ({"note": "a\0b"}, ["note"]),
        ({"name": "x" * 121}, ["name"]),
    ],
)
def test_what_cant_be_kept_is_said_by_field(people, given, columns):
    with pytest.raises(Refused) as refused:
        keep(people.coach, **given)
    assert [item.column for item in refused.value.items] == columns
    assert not ClassTemplate.objects.exists()


def test_a_name_is_there_once_in_a_gym(people):
    keep(people.coach)
    with pytest.raises(Refused) as refused:
        keep(people.owner)
    assert refused.value.kind == "conflict" and refused.value.items[0].column == "name"
    keep(people.foreign_coach)
    assert ClassTemplate.objects.count() == 2


def test_each_change_is_on_record(people):
    row = keep(people.coach)
    keep(people.owner, "Wednesday", template=row)
    remove_template(template=row, by=people.owner, now=NOW)
    assert list(AuditEntry.objects.order_by("pk").values_list("what", "by", "subject")) == [
        ("make-template", people.coach.pk, "Tuesday"),
        ("change-template", people.owner.pk, "Wednesday"),
        ("remove-template", people.owner.pk, "Wednesday"),
    ]
    with pytest.raises(Refused, match="removed meanwhile"):
        remove_template(template=row, by=people.owner, now=NOW)


def page(answer):
    return html.unescape(answer.content.decode())


def test_pages_make_change_use_and_remove_one(client, people):
    client.force_login(people.coach.user)
    assert "There are none yet." in page(client.get(reverse("class-templates")))
    sent = {"name": "Tuesday", "text": TEXT, "note": "For the small group."}
    told = page(client.post(reverse("template-new"), sent, follow=True))
    assert "The template Tuesday is kept." in told and "For the small group." in told
    row = ClassTemplate.objects.get()
    refused = client.post(reverse("template-new"), sent)
    assert refused.status_code == 422
    assert "A template of this name is there already." in page(refused)
    assert "For the small group." in page(refused)
    assert TEXT in page(client.get(reverse("class-new"), {"pattern": row.pk}))
    client.post(reverse("template-edit", args=[row.pk]), sent | {"name": "Friday"})
    row.refresh_from_db()
    assert row.name == "Friday"
    assert "Remove Friday?" in page(client.get(reverse("template-remove", args=[row.pk])))
    client.post(reverse("template-remove", args=[row.pk]))
    assert not ClassTemplate.objects.exists()


def test_a_past_workout_begins_a_template(client, people):
    streamed = make_class(people)
    client.force_login(people.coach.user)
    told = page(client.get(reverse("template-new"), {"from": streamed.workout_id}))
    assert streamed.workout.text in told and 'value="Two ladders and a tide"' in told
