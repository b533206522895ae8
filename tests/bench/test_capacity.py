"""The reckoning of docs/operating/capacity.md: right by hand, and the page tells its result."""

import dataclasses
import json

import pytest

from bench.capacity import MEASURED, Constants, Habits, main, need, table
from bench.capacity_page import PAGE, filled

COST = Constants(
    bytes_result=1000,
    wal_result=10_000,
    bytes_board_entry=500,
    cpu_submit=0.03,
    cpu_opened=0.01,
    cpu_board=0.01,
    cpu_board_unchanged=0.002,
    estimate_seconds=80,
    estimate_bytes=3e9,
    estimate_results=1_000_000,
    fixed_bytes_estimate=1e8,
)
HABITS = Habits(
    members_a_class=200, evenings=5, peak=0.25, rush=300, refresh=15, looking=0.5, changed=0.5,
    utilisation=0.5, cores=4, members_a_gym=1_000, years_of_results=2, night_hours=4,
    e_mails_a_result=0.5, e_mail_hours=3, open_hours=24,
)  # fmt: skip


def test_a_million_members_by_hand():
    """A million a week on five evenings: 200,000 an evening in 1,000 classes, 50,000 at once.

    Results: 50,000 / 300 s, each 30 ms and 10 ms to be opened. Reads: 25,000 / 15 s, each 0.5 × 10 ms + 0.5 × 2 ms = 6 ms. Cores:
    (166.7 × 0.04 + 1,666.7 × 0.006) / 0.5 = 33.3. Estimates: 1,000 gyms of 104,000 results.
    """
    told = need(1_000_000, COST, HABITS)
    assert told.classes_evening == 1000
    assert told.results_second == pytest.approx(166.667, abs=1e-3)
    assert told.reads_second == pytest.approx(1666.667, abs=1e-3)
    assert told.web_cores == pytest.approx(33.333, abs=1e-3) and told.web_machines == 9
    assert told.results_year == 52_000_000 and told.gigabytes_year == 52
    assert told.wal_megabytes_second == pytest.approx(1.66667, abs=1e-5)
    assert told.redis_megabytes == 100
    assert told.estimate_hours == pytest.approx(1000 * 0.104 * 80 / 3600)
    assert told.estimate_processes == 1
    assert told.estimate_gigabytes == pytest.approx(0.1 + 0.104 * 3)
    assert told.e_mails_second == pytest.approx(200_000 * 0.5 / 10_800)


def test_twice_the_members_need_twice_as_much_but_no_larger_processes():
    one, two = need(100_000, COST, HABITS), need(200_000, COST, HABITS)
    for name in ("results_second", "reads_second", "web_cores", "gigabytes_year", "estimate_hours"):
        assert getattr(two, name) == pytest.approx(2 * getattr(one, name)), name
    assert two.estimate_gigabytes == one.estimate_gigabytes


def test_a_small_gym_needs_one_machine():
    told = need(30, COST, HABITS)
    assert told.web_machines == told.estimate_processes == 1


def test_every_figure_it_reckons_with_is_measured_and_says_how():
    told = json.loads(MEASURED.read_text(encoding="utf-8"))
    assert {field.name for field in dataclasses.fields(Constants)} <= set(told)
    for one in told.values():
        assert set(one) == {"value", "unit", "how", "final"} and one["value"] > 0 and one["how"]


def test_the_page_tells_what_is_reckoned():
    text = PAGE.read_text(encoding="utf-8")
    assert filled(text) == text, "run python -m bench.capacity_page"


def test_the_command_prints_a_size_of_ones_own(capsys):
    assert main(["--members", "1234"]) == 0
    assert capsys.readouterr().out.strip() == table([need(1234, Constants.read())])
