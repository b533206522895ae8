"""Make a gym and its owner: ``manage.py create_gym "North Pier" --owner ida@example.org``."""

from __future__ import annotations

from typing import Any

from django.conf import settings
from django.core.exceptions import ValidationError
from django.core.management.base import BaseCommand, CommandError, CommandParser
from django.core.validators import validate_email
from django.db import transaction
from django.utils.text import slugify

from members.models import Gym, User
from members.problems import Refused
from members.services import create_gym


class Command(BaseCommand):
    help = "Make a gym with its first owner, and say how the owner gets in."

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("name", help="what the gym is called")
        parser.add_argument("--owner", required=True, metavar="EMAIL", help="address of its owner")
        parser.add_argument("--owner-name", help="what boards call the owner; else Owner")
        parser.add_argument("--timezone", default="UTC", help="such as Europe/Lisbon; else UTC")
        parser.add_argument("--slug", help="short name for commands; else made from the name")

    def handle(self, *args: Any, **options: Any) -> None:
        name, email = options["name"], options["owner"].strip().lower()
        slug = options["slug"] or slugify(name)[:60]
        if not slug:
            raise CommandError("No short name can be made from that name; give one with --slug.")
        if Gym.objects.filter(slug=slug).exists():
            raise CommandError(f"There is a gym {slug!r} already; give another --slug.")
        try:
            validate_email(email)
        except ValidationError:
            raise CommandError(f"{email!r} is no e-mail address: --owner ida@example.org") from None
        try:
            with transaction.atomic():
                owner = User.objects.filter(email=email).first() or User.objects.create_user(email)
                made = create_gym(
                    name=name,
                    slug=slug,
                    owner=owner,
                    owner_name=options["owner_name"] or "Owner",
                    timezone=options["timezone"],
                )
        except Refused as refused:
            said = " ".join(f"{item.problem} {item.suggestion}" for item in refused.items)
            raise CommandError(said) from None
        except ValidationError as error:
            raise CommandError(" ".join(error.messages)) from None
        self.stdout.write(f"{made.gym.name} is there, its clock is {made.gym.timezone}.")
        self.stdout.write(f"Next, {email}:")
        self.stdout.write(f"  1. opens {settings.SITE_URL} and signs in with that address;")
        self.stdout.write("     the code comes by e-mail, nobody has a password")
        self.stdout.write("  2. adds a passkey under Me, if wanted")
        self.stdout.write("  3. invites coaches and members under Members")
        self.stdout.write("  4. writes the first class under Plan")
