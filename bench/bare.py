"""The least a Django view does behind the same middleware, signed in.

``page`` reads the session, the user and the membership, as every page does, and answers a
constant of a board's size. ``ranked`` reads the same and the board's first rows by plain SQL
with ``rank() over``, as quickly as a page can that counts ranks anew each time. ``insert``
reads the same and adds one row in a transaction.
"""

from django.db import connection, transaction
from django.http import HttpRequest, HttpResponse
from django.utils import timezone
from django.utils.html import escape
from django.views.decorators.csrf import csrf_exempt

from members.models import Invitation
from members.selectors import current_membership
from members.tokens import hash_token, new_token

SIZE = 24_000
BODY = ("<li>a row of a board, all the same</li>\n" * 2000)[:SIZE]
ROW = "<li>{} {} {} {}" + " " * 380 + "</li>"
RANKED = """
SELECT rank() OVER (ORDER BY s.key DESC, s.tie_key) AS place, m.display_name,
       s.adjusted_text, s.credited
FROM scoring_score s
JOIN scoring_result r ON r.id = s.result_id
JOIN members_membership m ON m.id = r.member_id
WHERE s.streamed_class_id = %s
ORDER BY place, m.display_name
LIMIT 50
"""


def page(request: HttpRequest) -> HttpResponse:
    assert current_membership(request) is not None
    return HttpResponse(BODY)


def ranked(request: HttpRequest, pk: int) -> HttpResponse:
    assert current_membership(request) is not None
    with connection.cursor() as cursor:
        cursor.execute(RANKED, [pk])
        rows = cursor.fetchall()
    return HttpResponse("".join(ROW.format(*map(escape, row)) for row in rows))


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
