"""People, gyms, who belongs where, and the links that let somebody in."""

import zoneinfo
from typing import Any, ClassVar

from django.contrib.auth.base_user import AbstractBaseUser, BaseUserManager
from django.contrib.auth.models import PermissionsMixin
from django.core.exceptions import ValidationError
from django.db import models
from django.db.models import F, Q
from django.db.models.functions import Lower
from django.utils.timezone import now


class UserManager(BaseUserManager["User"]):
    """Makes accounts; an e-mail address is kept in lower case."""

    def create_user(self, email: str, password: str | None = None, **fields: Any) -> "User":
        if not email:
            raise ValueError("An account needs an e-mail address.")
        user = self.model(email=email.strip().lower(), **fields)
        user.set_password(password)
        user.save(using=self._db)
        self.note_address(user)
        return user

    def note_address(self, user: "User") -> None:
        """Let sign-in know the address, not yet proven.

        Sign-up by page does this itself. Without it, the first sign-in by an e-mailed
        code would ask for a second code to prove the address once more.
        """
        from allauth.account.models import EmailAddress

        EmailAddress.objects.get_or_create(
            user=user, email=user.email, defaults={"primary": True, "verified": False}
        )

    def create_superuser(self, email: str, password: str | None = None, **fields: Any) -> "User":
        return self.create_user(email, password, is_staff=True, is_superuser=True, **fields)

    def get_by_natural_key(self, username: str | None) -> "User":
        return self.get(email=(username or "").strip().lower())


class User(AbstractBaseUser, PermissionsMixin):
    """Somebody who can sign in. What a gym calls them is in their membership."""

    email = models.EmailField("e-mail", max_length=254, unique=True)
    is_active = models.BooleanField(default=True)
    is_staff = models.BooleanField("may use the admin pages", default=False)
    date_joined = models.DateTimeField(default=now)

    objects: ClassVar[UserManager] = UserManager()

    USERNAME_FIELD = "email"
    EMAIL_FIELD = "email"
    REQUIRED_FIELDS: ClassVar[list[str]] = []

    class Meta:
        constraints = [
            models.CheckConstraint(condition=Q(email=Lower("email")), name="user_email_lower"),
        ]

    def __str__(self) -> str:
        return self.email

    def clean(self) -> None:
        # Before the constraint on it is checked, or staff could not type a capital.
        super().clean()
        self.email = self.email.strip().lower()

    def save(self, *args: Any, **kwargs: Any) -> None:
        self.email = self.email.strip().lower()
        super().save(*args, **kwargs)


def check_timezone(value: str) -> None:
    """Refuse a time zone that the machine doesn't know."""
    try:
        zoneinfo.ZoneInfo(value)
    except (zoneinfo.ZoneInfoNotFoundError, ValueError, OSError) as error:
        raise ValidationError(
            f"“{value}” is no time zone known here; write one like Europe/London."
        ) from error


class ShownAs(models.TextChoices):
    NAME = "name", "my name"
    INITIALS = "initials", "my initials"
    UNNAMED = "unnamed", "no name"


class Gym(models.Model):
    """A place with classes of its own; nobody sees into another one."""

    name = models.CharField(max_length=80)
    slug = models.SlugField(max_length=60, unique=True)
    timezone = models.CharField(max_length=64, default="UTC", validators=[check_timezone])
    is_demo = models.BooleanField("holds invented data", default=False)
    shown_as_default = models.CharField(
        "how new members are shown on boards",
        max_length=8,
        choices=ShownAs,
        default=ShownAs.NAME,
    )
    created_at = models.DateTimeField(default=now)

    class Meta:
        constraints = [
            models.CheckConstraint(
                condition=Q(shown_as_default__in=("name", "initials", "unnamed")),
                name="gym_shown_as_default",
            ),
        ]

    def __str__(self) -> str:
        return self.name


class Role(models.TextChoices):
    MEMBER = "member", "member"
    COACH = "coach", "coach"
    OWNER = "owner", "owner"


class CoachRight(models.TextChoices):
    """What an owner can keep back from a coach."""

    CREDITS = "credits", "change the credit table"
    MEMBERS = "members", "add, invite and remove members"


class Membership(models.Model):
    """Somebody in a gym. Without an account it is an entry a coach keeps for them."""

    gym = models.ForeignKey(Gym, on_delete=models.PROTECT, related_name="memberships")
    user = models.ForeignKey(
        User, on_delete=models.SET_NULL, null=True, blank=True, related_name="memberships"
    )
    display_name = models.CharField(max_length=60)
    role = models.CharField(max_length=8, choices=Role, default=Role.MEMBER)
    shown_as = models.CharField(
        "how others see me on a board", max_length=8, choices=ShownAs, default=ShownAs.NAME
    )
    timezone = models.CharField(
        "my own time zone",
        max_length=64,
        blank=True,
        default="",
        validators=[check_timezone],
        help_text="Blank is the gym's.",
    )
    withheld = models.JSONField(
        "rights kept back", default=list, blank=True, help_text="Of a coach, by an owner."
    )
    joined_at = models.DateTimeField(default=now)
    left_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        ordering = ("display_name", "pk")
        constraints = [
            models.UniqueConstraint(
                fields=("gym", "user"),
                condition=Q(user__isnull=False),
                name="membership_once_a_gym",
            ),
            models.CheckConstraint(
                condition=Q(role__in=("member", "coach", "owner")), name="membership_role"
            ),
            models.CheckConstraint(
                condition=Q(shown_as__in=("name", "initials", "unnamed")),
                name="membership_shown_as",
            ),
            models.CheckConstraint(condition=~Q(display_name=""), name="membership_named"),
        ]
        indexes = [models.Index(fields=("gym", "display_name"), name="membership_gym_name")]

    def __str__(self) -> str:
        return self.display_name

    @property
    def is_coach(self) -> bool:
        """Whether they run classes: coaches do, and so do owners."""
        return self.left_at is None and self.role in (Role.COACH, Role.OWNER)

    @property
    def is_owner(self) -> bool:
        return self.left_at is None and self.role == Role.OWNER

    def may(self, right: str) -> bool:
        """Whether a coach has a right that owners can keep back; owners have them all."""
        return self.is_owner or (self.is_coach and right not in self.withheld)

    @property
    def zone(self) -> zoneinfo.ZoneInfo:
        """Where their clock stands: their own time zone, else the gym's."""
        return zoneinfo.ZoneInfo(self.timezone or self.gym.timezone)

    @property
    def is_claimed(self) -> bool:
        return self.user_id is not None

    @property
    def has_other_zone(self) -> bool:
        """Whether times on their pages are not the gym's own."""
        return self.zone.key != self.gym.timezone


class Body(models.Model):
    """What a member told of their body, each part or none of it.

    For their own eyes only: coaches, admin pages and whatever others can fetch never show
    it. ``weight`` is in kilograms. ``members/bodies.py`` is the only way to it.
    """

    membership = models.OneToOneField(Membership, on_delete=models.CASCADE, related_name="body")
    year_of_birth = models.PositiveSmallIntegerField(null=True, blank=True)
    weight = models.DecimalField(max_digits=5, decimal_places=2, null=True, blank=True)

    class Meta:
        constraints = [
            models.CheckConstraint(
                condition=Q(year_of_birth__isnull=True)
                | Q(year_of_birth__gte=1900, year_of_birth__lte=2200),
                name="body_year_of_birth",
            ),
            models.CheckConstraint(
                condition=Q(weight__isnull=True) | Q(weight__gte=20, weight__lte=400),
                name="body_weight",
            ),
        ]

    def __str__(self) -> str:
        # Neither figure, so that no list or log shows one by accident.
        return f"body of {self.membership_id}"


class Invitation(models.Model):
    """A link that lets its holder in. Only a hash is kept, so it is shown once."""

    gym = models.ForeignKey(Gym, on_delete=models.CASCADE, related_name="invitations")
    token_hash = models.CharField(max_length=64, unique=True)
    role = models.CharField(max_length=8, choices=Role, default=Role.MEMBER)
    membership = models.ForeignKey(
        Membership,
        on_delete=models.CASCADE,
        null=True,
        blank=True,
        related_name="claims",
        help_text="The entry that the holder takes over, if there is one.",
    )
    expires_at = models.DateTimeField()
    max_uses = models.PositiveIntegerField(default=1)
    uses = models.PositiveIntegerField(default=0)
    revoked_at = models.DateTimeField(null=True, blank=True)
    created_by = models.ForeignKey(
        Membership, on_delete=models.SET_NULL, null=True, related_name="invitations_made"
    )
    created_at = models.DateTimeField(default=now)

    class Meta:
        ordering = ("-created_at", "-pk")
        constraints = [
            models.CheckConstraint(condition=Q(max_uses__gte=1), name="invitation_some_use"),
            models.CheckConstraint(
                condition=Q(uses__lte=F("max_uses")), name="invitation_not_overused"
            ),
            models.CheckConstraint(
                condition=Q(role__in=("member", "coach", "owner")), name="invitation_role"
            ),
            models.CheckConstraint(
                condition=Q(membership__isnull=True) | Q(max_uses=1),
                name="invitation_claim_once",
            ),
        ]

    def __str__(self) -> str:
        return f"invitation {self.pk} to {self.gym_id}"


class CalendarFeed(models.Model):
    """A member's calendar at a secret address. Only a hash is kept, so it is shown once."""

    membership = models.OneToOneField(
        Membership, on_delete=models.CASCADE, related_name="calendar_feed"
    )
    token_hash = models.CharField(max_length=64, unique=True)
    made_at = models.DateTimeField(default=now)

    def __str__(self) -> str:
        return f"calendar of {self.membership_id}"


class AuditEntry(models.Model):
    """Who did what to whom, when and why: added once, never changed.

    The database itself refuses other changes and deleting (triggers, see the migration).
    Erasing a person is let through, and only that: their references become null, ``why``
    and ``details`` empty. Names are not written down here but looked up when shown.
    """

    gym = models.ForeignKey(Gym, on_delete=models.PROTECT, related_name="audit")
    at = models.DateTimeField()
    by = models.ForeignKey(
        Membership, on_delete=models.SET_NULL, null=True, related_name="audit_done"
    )
    what = models.CharField(max_length=40)
    member = models.ForeignKey(
        Membership, on_delete=models.SET_NULL, null=True, related_name="audit_told"
    )
    subject = models.CharField(max_length=200, blank=True)
    subject_key = models.CharField(max_length=60, blank=True)
    why = models.CharField(max_length=500, blank=True)
    details = models.JSONField(default=dict, blank=True)

    class Meta:
        ordering = ("-at", "-pk")
        verbose_name_plural = "audit entries"
        indexes = [models.Index(fields=("gym", "-at", "-id"), name="audit_gym_at")]

    def __str__(self) -> str:
        return f"{self.what} {self.subject}".strip()
