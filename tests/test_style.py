"""The style sheet is whole: a block left open hides every rule after it."""

import re
from pathlib import Path

STYLE = Path(__file__).parent.parent / "gymsite/static/gymsite/style.css"


def test_every_block_is_closed_before_the_next_line_at_the_margin():
    css = re.sub(
        r"/\*.*?\*/", lambda told: "\n" * told[0].count("\n"), STYLE.read_text(), flags=re.S
    )
    depth, inside = 0, []
    for number, line in enumerate(css.split("\n"), start=1):
        if depth and line and line[0] not in " }":
            inside.append(number)
        depth += line.count("{") - line.count("}")
    assert (depth, inside) == (0, [])
