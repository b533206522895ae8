"""All that ranks are counted by in one index, so that no count reads the table."""

from django.db import migrations, models

from gymsite.gently import AddIndexGently


class Migration(migrations.Migration):

    atomic = False
    dependencies = [("scoring", "0019_board_steps")]

    operations = [
        AddIndexGently(
            model_name="score",
            index=models.Index(
                fields=["streamed_class", "-key", "tie_key", "as_prescribed"], name="score_standing"
            ),
        ),
    ]
