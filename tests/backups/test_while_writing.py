"""A backup made while people write holds one moment, whole."""

import subprocess
import sys

from gymsite.backups.manifest import read_manifest
from members.models import Gym

from ..upgrade.places import ROOT
from .looking import backup, objects

# Seven rows a transaction: any other number of them is half of one.
WRITER = """
import django, itertools
django.setup()
from django.db import transaction
from members.models import Gym
print("begins", flush=True)
for turn in itertools.count():
    with transaction.atomic():
        for number in range(7):
            Gym.objects.create(name="Quay", slug=f"quay-{turn}-{number}")
    if turn == 3:
        print("writes", flush=True)
"""


def test_no_transaction_is_half_in_it(site, empty):
    before = objects(site, Gym).count()
    site.forget()
    writer = subprocess.Popen(
        [sys.executable, "-c", WRITER],
        cwd=ROOT, env=site.environment, stdout=subprocess.PIPE, text=True,
    )  # fmt: skip
    try:
        assert [writer.stdout.readline().strip() for _ in range(2)] == ["begins", "writes"]
        path = backup(site)
        assert writer.poll() is None, "the writer was hindered"
    finally:
        writer.kill()
        writer.wait(timeout=30)
        writer.stdout.close()
    counted = read_manifest(path).rows["members_gym"]
    assert counted > before
    assert (counted - before) % 7 == 0
    empty.manage("restore", path)
    assert objects(empty, Gym).count() == counted
