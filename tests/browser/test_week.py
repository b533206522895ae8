"""Before class, on a phone: the week, the calendar's address, the briefing and its print."""

import base64
import re
from datetime import timedelta
from zoneinfo import ZoneInfo

import pytest
from django.urls import reverse
from django.utils import timezone

from members import services
from members.qr import matrix
from scoring.models import StreamedClass

from ..conftest import TWO_LADDERS, make_people
from ..scoring.classes import make_class
from ..scoring.test_briefing import WHOLE
from .steps import sign_in_by_code, too_wide, watch_console

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]

both = pytest.mark.parametrize("phone", [True, False], ids=["js", "no js"], indirect=True)


def soon(people, text=WHOLE, **ahead):
    """A class, open, that starts so long from now."""
    streamed = make_class(people, text)
    starts = timezone.now() + timedelta(**ahead)
    StreamedClass.objects.filter(pk=streamed.pk).update(starts_at=starts)
    return streamed


def seen_modules(phone, picture, side):
    """Which modules are dark on the screen, each looked at in its middle as a camera would."""
    shot = base64.b64encode(picture.screenshot()).decode()
    return phone.evaluate(
        """async ([shot, side]) => {
            const image = new Image();
            image.src = "data:image/png;base64," + shot;
            await image.decode();
            const paper = document.createElement("canvas");
            [paper.width, paper.height] = [image.width, image.height];
            const pen = paper.getContext("2d");
            pen.drawImage(image, 0, 0);
            const at = (n, whole) => Math.floor((n + 0.5) * whole / side);
            const numbers = [...Array(side).keys()];
            return numbers.map((y) => numbers.map((x) =>
                pen.getImageData(at(x, image.width), at(y, image.height), 1, 1).data[0] < 128));
        }""",
        [shot, side],
    )


@both
def test_a_member_abroad_sees_the_week_in_their_own_time_and_subscribes(phone, live_server):
    people = make_people()
    streamed = soon(people, hours=30)
    faults = watch_console(phone)
    sign_in_by_code(phone, live_server.url, people.ana.user.email)
    phone.goto(live_server.url + reverse("profile"))
    phone.get_by_label("Times are shown in").select_option("Asia/Kathmandu")
    phone.get_by_role("button", name="Save").click()
    phone.get_by_text("Saved.").wait_for()
    phone.goto(live_server.url)
    phone.get_by_role("link", name="This week").click()
    rows = "new Set([...document.querySelectorAll('.top nav a')].map((a) => a.offsetTop)).size"
    assert phone.evaluate(rows) <= 2
    phone.get_by_role("heading", name="This week").wait_for()
    assert "your time zone, Asia/Kathmandu; the gym is in Europe/Lisbon" in phone.inner_text("main")
    streamed.refresh_from_db()
    local = streamed.starts_at.astimezone(ZoneInfo("Asia/Kathmandu"))
    phone.get_by_role("link", name=f"{local:%H:%M} Two ladders and company").wait_for()

    phone.get_by_role("link", name="Have this in my calendar").click()
    phone.get_by_role("button", name="Make an address").click()
    address = phone.get_by_label("The address to subscribe to").input_value()
    assert re.fullmatch(re.escape(live_server.url) + r"/calendar/[\w-]{43}\.ics", address)
    # The program that subscribes is not signed in.
    answer = phone.context.request.get(address, headers={"Cookie": ""})
    assert answer.ok and answer.headers["content-type"].startswith("text/calendar")
    assert "SUMMARY:Two ladders and company" in answer.text()
    phone.get_by_role("button", name="Take the address back").click()
    phone.get_by_text("You have no address yet.").wait_for()
    assert phone.context.request.get(address).status == 404
    assert faults == []


@both
def test_the_briefing_is_found_from_the_class_and_says_how_to_split(phone, live_server):
    people = make_people()
    streamed = soon(people, hours=2)
    faults = watch_console(phone)
    sign_in_by_code(phone, live_server.url, people.ana.user.email)
    phone.goto(live_server.url + reverse("class", args=[streamed.pk]))
    phone.get_by_role("link", name="Before class").click()
    phone.get_by_role("heading", name="Pacing").wait_for()
    told = phone.inner_text("main")
    assert "18 goblet squat: 6-6-6" in told and "3 rounds, not scored" in told
    assert faults == []


@pytest.mark.parametrize("text", [WHOLE, TWO_LADDERS], ids=["with a warm-up", "three blocks"])
def test_printed_it_is_black_on_white_without_navigation_on_two_sheets_at_most(
    phone, live_server, text
):
    people = make_people()
    streamed = soon(people, text, hours=2)
    services.change_profile(
        membership=people.ana, display_name="Ana", shown_as="name", timezone="Asia/Tokyo"
    )
    sign_in_by_code(phone, live_server.url, people.ana.user.email)
    phone.goto(live_server.url + reverse("class-briefing", args=[streamed.pk]))
    phone.emulate_media(media="print", color_scheme="dark")
    seen = phone.evaluate(
        """() => [...document.querySelectorAll("main, main *")]
            .filter((e) => e.checkVisibility())
            .map((e) => getComputedStyle(e))
            .map((s) => [s.color, s.backgroundColor])"""
    )
    white, clear = "rgb(255, 255, 255)", "rgba(0, 0, 0, 0)"
    assert {ink for ink, _ in seen} == {"rgb(0, 0, 0)"}
    assert {ground for _, ground in seen} <= {white, clear}
    assert phone.evaluate("getComputedStyle(document.body).backgroundColor") == white
    for gone in (".top", ".foot", ".skip", ".on-screen"):
        assert not phone.locator(gone).is_visible()
    paper = phone.pdf(prefer_css_page_size=True)
    assert 1 <= len(re.findall(rb"/Type\s*/Page\b(?!s)", paper)) <= 2


@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_the_picture_of_a_link_is_dark_on_white_in_both_schemes(phone, live_server, scheme):
    people = make_people()
    phone.emulate_media(color_scheme=scheme)
    sign_in_by_code(phone, live_server.url, people.coach.user.email)
    phone.goto(live_server.url + reverse("member-list"))
    phone.get_by_role("button", name="Make a link", exact=True).click()
    picture = phone.get_by_role("img", name="The same link as a QR picture")
    colours = picture.evaluate(
        """(svg) => [getComputedStyle(svg).backgroundColor,
                     getComputedStyle(svg.querySelector("path")).fill]"""
    )
    assert colours == ["rgb(255, 255, 255)", "rgb(0, 0, 0)"]
    box = picture.bounding_box()
    link = phone.get_by_label("The link to pass on").input_value()
    assert seen_modules(phone, picture, len(matrix(link))) == matrix(link)
    assert box["width"] == box["height"] >= 200 and box["x"] + box["width"] <= 390
    assert not too_wide(phone)


@pytest.mark.parametrize(("width", "scheme"), [(390, "light"), (1280, "dark")])
def test_no_page_of_before_class_has_a_fault_that_axe_finds(phone, live_server, width, scheme):
    from axe_playwright_python.sync_playwright import Axe

    people = make_people()
    streamed = soon(people, hours=30)
    soon(people, "Easy day\n\n3 rounds, not scored\n10 air squat\n", days=3)
    services.change_profile(
        membership=people.coach, display_name="C", shown_as="name", timezone="Asia/Kathmandu"
    )
    phone.set_viewport_size({"width": width, "height": 900})
    phone.emulate_media(color_scheme=scheme, reduced_motion="reduce")
    found = {}

    def check(name):
        violations = Axe().run(phone).response["violations"]
        if violations or too_wide(phone):
            found[name] = [(v["id"], v["nodes"][0]["html"][:120]) for v in violations] or "too wide"

    sign_in_by_code(phone, live_server.url, people.coach.user.email)
    for name in ("home", "week", "profile", "calendar", "class-new"):
        phone.goto(live_server.url + reverse(name))
        check(name)
    for name in ("class", "class-briefing"):
        phone.goto(live_server.url + reverse(name, args=[streamed.pk]))
        check(name)
    phone.goto(live_server.url + reverse("calendar"))
    phone.get_by_role("button", name="Make an address").click()
    phone.get_by_label("The address to subscribe to").wait_for()
    check("a new address")
    phone.goto(live_server.url + reverse("member-list"))
    phone.get_by_role("button", name="Make a link", exact=True).click()
    phone.get_by_label("The link to pass on").wait_for()
    check("a new link")
    assert found == {}
