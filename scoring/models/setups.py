"""What a member has at home and usually takes."""

from django.db import models


class Setup(models.Model):
    """A member's gear and habits; without a row nothing was told.

    ``pieces`` is a list of names of scoring/core/gear.py, ``loads`` weights as texts by the
    piece (``{"kettlebell": ["16 kg", "24 kg"]}``), ``usual`` the label of an option by the
    movement it stands for. Coaches see it; it says what to plan for.
    """

    member = models.OneToOneField(
        "members.Membership", on_delete=models.CASCADE, related_name="setup"
    )
    has_told_gear = models.BooleanField(default=False)
    pieces = models.JSONField(default=list, blank=True)
    loads = models.JSONField(default=dict, blank=True)
    usual = models.JSONField(default=dict, blank=True)
    unit = models.CharField(max_length=2, choices=[("kg", "kg"), ("lb", "lb")], default="kg")

    class Meta:
        constraints = [
            models.CheckConstraint(condition=models.Q(unit__in=("kg", "lb")), name="setup_unit"),
        ]

    def __str__(self) -> str:
        return f"setup of {self.member_id}"
