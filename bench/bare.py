"""The least a Django view does behind the same middleware, signed in.

``page`` reads the session, the user and the membership, as every page does, and answers a
constant of a board's size. ``insert`` reads the same and adds one row in a transaction.
"""

from django.db import transaction
from django.http import HttpRequest, HttpResponse
from django.utils import timezone
from django.views.decorators.csrf import csrf_exempt

from members.models import Invitation
from members.selectors import current_membership
from members.tokens import hash_token, new_token

SIZE = 24_000
BODY = ("<li>a row of a board, all the same</li>\n" * 2000)[:SIZE]


def page(request: HttpRequest) -> HttpResponse:
    assert current_membership(request) is not None
    return HttpResponse(BODY)


@csrf_exempt
def insert(request: HttpRequest) -> HttpResponse:
    member = current_membership(request)
    assert member is not None
    assert request.POST.get("mark")
    with transaction.atomic():
        Invitation.objects.create(
            gym=member.gym, token_hash=hash_token(new_token()), expires_at=timezone.now()
        )
    return HttpResponse(status=201)
