"""A year of birth moves to a row of its own that only its member reads."""

import django.db.models.deletion
from django.db import migrations, models


def move(apps, schema_editor):
    Membership = apps.get_model("members", "Membership")
    Body = apps.get_model("members", "Body")
    told = Membership.objects.filter(year_of_birth__isnull=False)
    for pk, year in told.values_list("pk", "year_of_birth").iterator():
        Body.objects.create(membership_id=pk, year_of_birth=year)


def back(apps, schema_editor):
    Membership = apps.get_model("members", "Membership")
    Body = apps.get_model("members", "Body")
    told = Body.objects.filter(year_of_birth__isnull=False)
    for pk, year in told.values_list("membership_id", "year_of_birth").iterator():
        Membership.objects.filter(pk=pk).update(year_of_birth=year)


class Migration(migrations.Migration):
    dependencies = [("members", "0002_zone_and_calendar")]

    operations = [
        migrations.AddField(
            model_name="gym",
            name="shown_as_default",
            field=models.CharField(
                "how new members are shown on boards",
                choices=[("name", "my name"), ("initials", "my initials"), ("unnamed", "no name")],
                default="name",
                max_length=8,
            ),
        ),
        migrations.AddConstraint(
            model_name="gym",
            constraint=models.CheckConstraint(
                condition=models.Q(shown_as_default__in=("name", "initials", "unnamed")),
                name="gym_shown_as_default",
            ),
        ),
        migrations.CreateModel(
            name="Body",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                ("year_of_birth", models.PositiveSmallIntegerField(blank=True, null=True)),
                (
                    "weight",
                    models.DecimalField(blank=True, decimal_places=2, max_digits=5, null=True),
                ),
                (
                    "membership",
                    models.OneToOneField(
                        on_delete=django.db.models.deletion.CASCADE,
                        related_name="body",
                        to="members.membership",
                    ),
                ),
            ],
            options={
                "constraints": [
                    models.CheckConstraint(
                        condition=models.Q(year_of_birth__isnull=True)
                        | models.Q(year_of_birth__gte=1900, year_of_birth__lte=2200),
                        name="body_year_of_birth",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(weight__isnull=True)
                        | models.Q(weight__gte=20, weight__lte=400),
                        name="body_weight",
                    ),
                ],
            },
        ),
        migrations.RunPython(move, back),
    ]
