"""Where the database will count a class's scores, in steps of their keys and in all."""

import django.db.models.deletion
from django.db import migrations, models

SAFE = {
    "AlterField scoring.score.credit_table": "an index is dropped that no page asks for: a moment",
    "AlterField scoring.score.streamed_class": "an index is dropped that the board's own begins with",
}


class Migration(migrations.Migration):

    dependencies = [("scoring", "0018_board_logs")]

    operations = [
        migrations.AlterField(
            model_name="score",
            name="credit_table",
            field=models.ForeignKey(db_index=False, on_delete=django.db.models.deletion.PROTECT, related_name="+", to="scoring.credittableversion"),
        ),
        migrations.AlterField(
            model_name="score",
            name="streamed_class",
            field=models.ForeignKey(db_index=False, on_delete=django.db.models.deletion.CASCADE, related_name="scores", to="scoring.streamedclass"),
        ),
        migrations.AddField(
            model_name="streamedclass",
            name="board_entries",
            field=models.PositiveIntegerField(db_default=0, default=0, editable=False),
        ),
        migrations.AddField(
            model_name="streamedclass",
            name="board_prescribed",
            field=models.PositiveIntegerField(db_default=0, default=0, editable=False),
        ),
        migrations.CreateModel(
            name="BoardStep",
            fields=[
                ("id", models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID")),
                ("as_prescribed", models.BooleanField()),
                ("step", models.IntegerField()),
                ("entries", models.IntegerField()),
                ("streamed_class", models.ForeignKey(db_index=False, on_delete=django.db.models.deletion.CASCADE, related_name="+", to="scoring.streamedclass")),
            ],
            options={
                "constraints": [models.UniqueConstraint(fields=("streamed_class", "as_prescribed", "step"), name="board_step_once")],
            },
        ),
    ]
