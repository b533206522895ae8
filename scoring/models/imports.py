"""Results brought in many at a time: where they came from, line by line."""

from django.db import models
from django.db.models import Q
from django.utils import timezone

from .classes import StreamedClass
from .facts import Fact


class ImportRun(models.Model):
    """A chat or a file that a coach brought in for a class.

    Its text is kept in its lines only, and not for good: ``cleared_at`` says when it was
    taken out of them. ``digest`` tells the same text when it comes again. ``touched_at`` is
    when work on it last got further, so that one that died is found.
    """

    class Kind(models.TextChoices):
        CHAT = "chat", "chat"
        SHEET = "sheet", "file"

    class State(models.TextChoices):
        READING = "reading", "being read"
        CHECKING = "checking", "to be looked through"
        SAVING = "saving", "coming in"
        DONE = "done", "in"
        UNDOING = "undoing", "being undone"
        UNDONE = "undone", "undone"

    gym = models.ForeignKey("members.Gym", on_delete=models.PROTECT, related_name="imports")
    streamed_class = models.ForeignKey(
        StreamedClass, on_delete=models.PROTECT, related_name="imports"
    )
    by = models.ForeignKey(
        "members.Membership", on_delete=models.SET_NULL, null=True, related_name="+"
    )
    kind = models.CharField(max_length=5, choices=Kind)
    state = models.CharField(max_length=8, choices=State, default=State.READING)
    digest = models.CharField(max_length=64, blank=True)
    remarks = models.JSONField(default=list, blank=True)
    reason = models.CharField(max_length=500, blank=True)
    fault = models.CharField(max_length=500, blank=True)
    started_at = models.DateTimeField(default=timezone.now)
    touched_at = models.DateTimeField(default=timezone.now)
    confirmed_at = models.DateTimeField(null=True, blank=True)
    finished_at = models.DateTimeField(null=True, blank=True)
    undone_at = models.DateTimeField(null=True, blank=True)
    cleared_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        ordering = ("-started_at", "-pk")
        constraints = [
            models.CheckConstraint(condition=Q(kind__in=("chat", "sheet")), name="import_kind"),
            models.CheckConstraint(
                condition=Q(
                    state__in=("reading", "checking", "saving", "done", "undoing", "undone")
                ),
                name="import_state",
            ),
        ]
        indexes = [
            models.Index(
                fields=("touched_at",),
                condition=Q(state__in=("reading", "saving", "undoing")),
                name="import_at_work",
            ),
        ]

    def __str__(self) -> str:
        return f"import {self.pk}"

    @property
    def is_at_work(self) -> bool:
        """Whether the machine has it, so that nothing of it can be changed now."""
        return self.state in (self.State.READING, self.State.SAVING, self.State.UNDOING)

    def resting_state(self) -> str:
        """Where it comes to rest when it is read, or could not be saved to the end."""
        is_in = self.lines.filter(state=ImportLine.State.SAVED).exists()
        return self.State.DONE if is_in else self.State.CHECKING


class ImportLine(models.Model):
    """One line: as it came, as a coach mended it, as it is understood, what became of it.

    ``cells`` are a file's columns; ``mended`` is what a coach wrote instead (``text`` or a
    column's name), ``answers`` what they chose where a part could mean several things,
    ``chosen`` whom they named. The other fields are derived from those and can be derived
    again. ``before`` is the fact that stood when the coach looked, ``fact`` what the line
    made, ``undo_fact`` what took it back. ``is_new`` says that nothing stood, or only what an
    import had made and taken back: of such a line coming and going nobody needs a message.
    """

    class State(models.TextChoices):
        UNREAD = "unread", "not read yet"
        WRONG = "wrong", "can't be read"
        DOUBTFUL = "doubtful", "to be confirmed"
        GOOD = "good", "ready"
        KNOWN = "known", "already in"
        SKIPPED = "skipped", "left out"
        CHATTER = "chatter", "no result"
        SAVED = "saved", "brought in"
        UNDONE = "undone", "taken back"
        LEFT = "left", "changed since, left alone"

    run = models.ForeignKey(ImportRun, on_delete=models.CASCADE, related_name="lines")
    number = models.PositiveIntegerField()
    text = models.TextField(blank=True)
    cells = models.JSONField(default=dict, blank=True)

    mended = models.JSONField(default=dict, blank=True)
    answers = models.JSONField(default=dict, blank=True)
    chosen = models.ForeignKey(
        "members.Membership", on_delete=models.CASCADE, null=True, blank=True, related_name="+"
    )
    is_new = models.BooleanField(default=False)
    is_accepted = models.BooleanField(default=False)
    is_skipped = models.BooleanField(default=False)

    state = models.CharField(max_length=8, choices=State, default=State.UNREAD)
    member = models.ForeignKey(
        "members.Membership",
        on_delete=models.CASCADE,
        null=True,
        blank=True,
        related_name="import_lines",
    )
    name = models.CharField(max_length=120, blank=True)
    candidates = models.JSONField(default=list, blank=True)
    mark = models.CharField(max_length=200, blank=True)
    options = models.TextField(blank=True)
    splits = models.TextField(blank=True)
    effort = models.PositiveSmallIntegerField(null=True, blank=True)
    note = models.TextField(blank=True)
    adjusted = models.CharField(max_length=200, blank=True)
    problems = models.JSONField(default=list, blank=True)
    doubts = models.JSONField(default=list, blank=True)
    remarks = models.JSONField(default=list, blank=True)
    digest = models.CharField(max_length=64, blank=True)

    before = models.ForeignKey(
        Fact, on_delete=models.SET_NULL, null=True, blank=True, related_name="+"
    )
    fact = models.ForeignKey(
        Fact, on_delete=models.SET_NULL, null=True, blank=True, related_name="import_lines"
    )
    undo_fact = models.ForeignKey(
        Fact, on_delete=models.SET_NULL, null=True, blank=True, related_name="undone_lines"
    )

    class Meta:
        ordering = ("number",)
        constraints = [
            models.UniqueConstraint(fields=("run", "number"), name="import_line_once"),
            models.CheckConstraint(
                condition=Q(
                    state__in=(
                        "unread", "wrong", "doubtful", "good", "known", "skipped", "chatter",
                        "saved", "undone", "left",
                    )
                ),
                name="import_line_state",
            ),
        ]  # fmt: skip
        indexes = [models.Index(fields=("run", "state", "number"), name="import_line_states")]

    def __str__(self) -> str:
        return f"line {self.number} of import {self.run_id}"

    @property
    def cells_now(self) -> dict[str, str]:
        """A file's columns as the coach wants them read."""
        return {**self.cells, **{k: v for k, v in self.mended.items() if k != "text"}}

    @property
    def text_now(self) -> str:
        """The line as the coach wants it read."""
        return str(self.mended.get("text", self.text))

    @property
    def is_final(self) -> bool:
        """Whether the line has been brought in, so that it is no longer mended."""
        return self.state in (self.State.SAVED, self.State.UNDONE, self.State.LEFT)
