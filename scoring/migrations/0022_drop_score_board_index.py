"""The index that ``score_standing`` takes the place of."""

from django.db import migrations

from gymsite.gently import RemoveIndexGently


class Migration(migrations.Migration):

    atomic = False
    dependencies = [("scoring", "0021_count_board_steps")]

    operations = [RemoveIndexGently(model_name="score", name="score_board")]
