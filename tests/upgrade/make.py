"""Make a release: its data for the tests to come, and its line in ``gymsite/releases.toml``.

``make release NAME=0.2.0`` runs it. It fills a scratch database, so no other is touched.
"""

from __future__ import annotations

import os
import sys
import tempfile
from pathlib import Path


def main(name: str) -> int:
    with tempfile.TemporaryDirectory() as folder:
        os.environ["DATABASE_URL"] = f"sqlite:///{folder}/site.sqlite3"
        os.environ["REDIS_URL"] = ""
        os.environ["DJANGO_SETTINGS_MODULE"] = "gymsite.settings.test"
        import django

        django.setup()
        from django.apps import apps
        from django.core.management import call_command
        from django.db import connections

        from gymsite.releases import LIST, releases

        from . import at, data, gym

        call_command("migrate", verbosity=0)
        call_command("createcachetable", verbosity=0)
        if empty := gym.fill():
            print("No rows in: " + ", ".join(empty) + ". Add a scene to tests/upgrade/gym.py.")
            return 1
        counts = data.save(name, apps)
        last = {
            app: node
            for app, node in at.MigrationExecutor(connections["default"]).loader.graph.leaf_nodes()
            if app in at.OURS
        }
        connections.close_all()
    print(f"{data.path_of(name)}: {sum(counts.values())} rows in {len(counts)} tables")
    if name not in {release.name for release in releases()}:
        words = ", ".join(f'{app} = "{node}"' for app, node in sorted(last.items()))
        with Path(LIST).open("a", encoding="utf-8") as listed:
            listed.write(f'\n[[release]]\nname = "{name}"\nlast = {{ {words} }}\n')
    return 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1]))
