"""Pages: join by a link, my own place in the gym, the coach's list of members."""

from __future__ import annotations

from typing import Any
from urllib.parse import quote

from django.contrib import messages
from django.core.paginator import Paginator
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_http_methods, require_POST

from members import devices, feeds, qr, selectors, services, zones
from members.keys import is_key
from members.limits import Limit, limited, too_often
from members.models import CoachRight, Invitation, Membership, Role, ShownAs, User
from members.problems import Refused
from members.viewer import coaches_only, members_only

# Where the library of accounts keeps, in a session, a sign-in that waits for its code.
PENDING = "account_login"

MEMBERS_A_PAGE = 60

STATUS = {"invalid": 422, "conflict": 409, "forbidden": 403, "gone": 410}


@never_cache
@require_http_methods(["GET", "HEAD", "POST"])
@limited("join")
def join(request: HttpRequest, token: str) -> HttpResponse:
    """Where an invitation leads: says which gym, then sign in, then a name."""
    invitation = selectors.invitation_for(token)
    user = request.user
    own = None
    if invitation is not None and user.is_authenticated:
        own = selectors.membership_for(user, invitation.gym)
    why = selectors.spent(invitation, now=timezone.now()) if invitation else "unknown"
    if invitation is None and (wait := Limit("guess").wait_of(request)):
        return too_often(request, wait)
    if own is None and (invitation is None or why):
        return render(
            request, "members/join_spent.html", {"said": selectors.SPENT[why]}, status=410
        )
    assert invitation is not None
    entry = invitation.membership
    name = entry.display_name if entry else ""
    # Who asked for a code, and opens the link again instead of going back, is led to
    # where the code is typed; sign-in itself would lead there and forget this page.
    entrance = "account_confirm_login_code" if PENDING in request.session else "account_login"
    context: dict[str, Any] = {"invitation": invitation, "own": own, "name": name}
    context["entrance"] = entrance
    if request.method != "POST" or not user.is_authenticated:
        return render(request, "members/join.html", context)
    name = request.POST.get("display_name", "")
    try:
        joined = services.accept_invitation(
            token=token, user=user, display_name=name, now=timezone.now()
        )
    except Refused as refused:
        context |= {"faults": refused.items, "name": name}
        return render(request, "members/join.html", context, status=STATUS[refused.kind])
    request.session[selectors.SESSION_GYM] = joined.gym_id
    messages.success(request, f"You are in: {joined.gym.name}, as {joined.display_name}.")
    return redirect("/")


@never_cache
@require_http_methods(["GET", "HEAD", "POST"])
@members_only
def profile(request: HttpRequest, viewer: Membership) -> HttpResponse:
    """What the gym calls me, how others see me on a board, and which gym I look at."""
    context: dict[str, Any] = {
        "name": viewer.display_name,
        "shown_as": viewer.shown_as,
        "choices": ShownAs.choices,
        "zone": viewer.timezone,
        "zones": zones.grouped(viewer.timezone),
    }
    if request.method != "POST":
        return render(request, "members/profile.html", context)
    name, shown_as = request.POST.get("display_name", ""), request.POST.get("shown_as", "")
    zone = request.POST.get("timezone")
    try:
        services.change_profile(
            membership=viewer, display_name=name, shown_as=shown_as, timezone=zone
        )
    except Refused as refused:
        context |= {"faults": refused.items, "name": name, "shown_as": shown_as, "zone": zone}
        return render(request, "members/profile.html", context, status=STATUS[refused.kind])
    messages.success(request, "Saved.")
    return redirect("profile")


@never_cache
@require_http_methods(["GET", "HEAD", "POST"])
@limited("token", acts=("make",))
@members_only
def device_list(request: HttpRequest, viewer: Membership) -> HttpResponse:
    """Tokens of my devices: make one, see it once, take it back."""
    context: dict[str, Any] = {}
    user = request.user
    assert isinstance(user, User)  # members are signed in
    if request.method == "POST":
        if request.POST.get("act") == "make":
            # Shown in this answer only: the token itself is kept nowhere.
            context["made"] = devices.make_token(user=user).token
        else:
            if devices.revoke_token(user=user, key=request.POST.get("token", "")[:64]):
                messages.success(request, "That token opens nothing any more.")
            return redirect("device-list")
    context["tokens"] = devices.tokens_of(user)
    return render(request, "members/device_list.html", context)


@never_cache
@require_http_methods(["GET", "HEAD", "POST"])
@members_only
def calendar(request: HttpRequest, viewer: Membership) -> HttpResponse:
    """The secret address of my calendar: make it, see it once, take it back."""
    context: dict[str, Any] = {}
    if request.method == "POST":
        if request.POST.get("act") == "make":
            # Shown in this answer only: the token itself is kept nowhere.
            token = feeds.make_feed(membership=viewer, now=timezone.now())
            made = reverse("calendar-feed", args=[token])
            context["made"] = request.build_absolute_uri(made)
        else:
            if feeds.revoke_feed(membership=viewer):
                messages.success(request, "That address leads nowhere any more.")
            return redirect("calendar")
    context["feed"] = feeds.feed_of(viewer)
    return render(request, "members/calendar.html", context)


@require_POST
@members_only
def choose_gym(request: HttpRequest, viewer: Membership) -> HttpResponse:
    """Look at another gym that the viewer belongs to."""
    sent = request.POST.get("gym", "")
    chosen = next((m for m in selectors.switchable(request) if str(m.gym_id) == sent), None)
    if chosen is None:
        raise Http404
    request.session[selectors.SESSION_GYM] = chosen.gym_id
    return redirect("/")


@never_cache
@require_http_methods(["GET", "HEAD", "POST"])
@limited("invite", acts=("invite", "claim"))
@coaches_only
def member_list(request: HttpRequest, viewer: Membership) -> HttpResponse:
    """Who is in the gym; add, invite, hand an entry over, change roles, take links back."""
    context: dict[str, Any] = {"sent_uses": 1, "sent_days": services.INVITATION_DAYS}
    status = 200
    if request.method == "POST":
        try:
            link = _act(request, viewer)
        except Refused as refused:
            status = STATUS[refused.kind]
            context |= {"faults": refused.items} | _typed(request)
        else:
            if not link:
                return redirect("member-list")
            # Shown in this answer only: the token itself is kept nowhere.
            context |= link
    asked = request.GET.get("q", "").strip()[: services.NAME_LENGTH]
    members = selectors.members_of(viewer.gym)
    found = members.filter(display_name__icontains=asked) if asked else members
    context |= {
        "q": asked,
        "count": members.count(),
        "page": Paginator(found, MEMBERS_A_PAGE).get_page(request.GET.get("page")),
        "kept": f"&q={quote(asked)}" if asked else "",
        "rights": CoachRight.choices,
        "keeps_members": viewer.may(CoachRight.MEMBERS),
        "invitations": selectors.open_invitations(viewer.gym, now=timezone.now()),
        "roles": Role.choices,
    }
    return render(request, "members/member_list.html", context, status=status)


def _typed(request: HttpRequest) -> dict[str, str]:
    """What was typed into a form that was refused, so that it need not be typed again."""
    fields = {"sent_uses": "max_uses", "sent_days": "days", "sent_name": "display_name"}
    fields["sent_role"] = "role"
    return {key: request.POST[field] for key, field in fields.items() if field in request.POST}


def _act(request: HttpRequest, viewer: Membership) -> dict[str, Any]:
    """Do what a form of the list asks; a new link and whom it is for, or nothing."""
    act, post, now = request.POST.get("act"), request.POST, timezone.now()
    if act == "add":
        added = services.add_member(by=viewer, display_name=post.get("display_name", ""), now=now)
        messages.success(request, f"{added.display_name} is in the list.")
    elif act == "invite":
        made = services.invite(
            by=viewer,
            now=now,
            role=post.get("role", Role.MEMBER),
            max_uses=_number(post.get("max_uses", "1"), "max_uses"),
            days=_number(post.get("days", str(services.INVITATION_DAYS)), "days"),
        )
        return _link(request, made)
    elif act == "claim":
        return _link(
            request, services.invite(by=viewer, now=now, membership=_member(request, viewer))
        )
    elif act == "role":
        changed = services.change_role(
            membership=_member(request, viewer), by=viewer, role=post.get("role", "")
        )
        messages.success(request, f"{changed.display_name} is {changed.get_role_display()} now.")
    elif act == "rights":
        kept = set(CoachRight.values) - set(post.getlist("right"))
        coach = services.withhold_rights(
            membership=_member(request, viewer), by=viewer, withheld=kept, now=now
        )
        messages.success(request, f"Saved what {coach.display_name} may do.")
    elif act == "remove":
        gone = services.remove_member(membership=_member(request, viewer), by=viewer, now=now)
        messages.success(request, f"{gone.display_name} is no longer in the gym.")
    elif act == "revoke":
        sent = post.get("invitation", "")
        found = (
            Invitation.objects.filter(gym=viewer.gym, pk=int(sent)).first()
            if is_key(sent)
            else None
        )
        if found is None:
            raise Refused("invitation", "That link is not there any more.", kind="conflict")
        services.revoke(invitation=found, by=viewer, now=now)
        messages.success(request, "That link lets nobody in any more.")
    else:
        raise Refused("act", "That is nothing this page does.", "Use one of its buttons.")
    return {}


def _link(request: HttpRequest, made: services.Invited) -> dict[str, Any]:
    address = request.build_absolute_uri(reverse("join", args=[made.token]))
    return {"link": address, "link_for": made.invitation, "qr": qr.picture(address)}


def no_passwords(request: HttpRequest, rest: str = "") -> HttpResponse:
    """Where a page about passwords would be, if there were any."""
    raise Http404("There are no passwords here. Sign in by a code that is sent by e-mail.")


def _member(request: HttpRequest, viewer: Membership) -> Membership:
    sent = request.POST.get("member", "")
    found = selectors.members_of(viewer.gym).filter(pk=int(sent)).first() if is_key(sent) else None
    if found is None:
        raise Refused("member", "Nobody in your gym is meant by that.", "Choose from the list.")
    return found


def _number(text: str, column: str) -> int:
    if not is_key(text.strip()):
        raise Refused(column, f"“{text}” is no whole number.", "Write digits only.")
    return int(text)
