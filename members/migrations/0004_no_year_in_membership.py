"""The old place of the year of birth goes, once it was moved.

A migration of its own: PostgreSQL changes no table in the transaction that filled it.
"""

from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies = [("members", "0003_body_and_gym_default")]

    operations = [
        migrations.RemoveConstraint(model_name="membership", name="membership_year_of_birth"),
        migrations.RemoveField(model_name="membership", name="year_of_birth"),
    ]
