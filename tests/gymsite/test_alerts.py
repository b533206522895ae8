"""The rules of docs/operating/alerts.yml ask for figures that there are."""

import re
from pathlib import Path

import pytest
import yaml
from prometheus_client import REGISTRY

from gymsite import metrics

FILE = Path(__file__).resolve().parents[2] / "docs" / "operating" / "alerts.yml"
RULES = [
    rule
    for group in yaml.safe_load(FILE.read_text(encoding="utf-8"))["groups"]
    for rule in group["rules"]
]
ENDINGS = {
    "counter": ("_total",),
    "histogram": ("_bucket", "_count", "_sum"),
    "gauge": ("",),
}


@pytest.fixture
def series(client, people, settings, tmp_path):
    """Names of all series there can be, with the type of each."""
    settings.BACKUP_FOLDER = str(tmp_path)
    client.get("/health/live/")  # the first request makes those of requests
    families = [*REGISTRY.collect(), *metrics.Waiting().collect()]
    return {
        family.name + ending for family in families for ending in ENDINGS.get(family.type, ("",))
    }


def asked(rule):
    return set(re.findall(r"\b(?:classboard|django)_\w+", rule["expr"]))


@pytest.mark.parametrize("rule", RULES, ids=lambda rule: rule["alert"])
def test_each_rule_asks_for_figures_that_there_are(rule, series):
    assert asked(rule) and asked(rule) <= series


@pytest.mark.parametrize("rule", RULES, ids=lambda rule: rule["alert"])
def test_each_rule_says_how_urgent_it_is_and_what_is_wrong(rule):
    assert set(rule) <= {"alert", "expr", "for", "labels", "annotations"}
    assert rule["labels"]["severity"] in ("page", "ticket")
    assert rule["annotations"]["summary"].endswith(".")
    assert rule["expr"].count("(") == rule["expr"].count(")")


def test_the_page_says_what_to_do_at_each():
    text = (FILE.parent / "several-machines.md").read_text(encoding="utf-8")
    for rule in RULES:
        assert f"`{rule['alert']}`" in text


def test_labels_that_are_chosen_by_are_those_that_are_counted():
    from scoring import metrics as counted

    told = {label: set() for label in ("kind", "outcome", "way")}
    for counter in (counted._REFUSED, counted._MESSAGES, counted._LOGGED):
        for family in counter.collect():
            for sample in family.samples:
                for label, value in sample.labels.items():
                    told[label].add(value)
    for rule in RULES:
        for label, value in re.findall(r'(kind|outcome|way)="(\w+)"', rule["expr"]):
            assert value in told[label], rule["alert"]
