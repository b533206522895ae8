"""What processes cost: seconds of a core and memory, as Linux tells them of each process."""

from __future__ import annotations

import os
from collections.abc import Iterable
from dataclasses import dataclass, field
from pathlib import Path
from threading import Event, Thread

TICK = os.sysconf("SC_CLK_TCK")
EVERY = 0.5


def family(pid: int) -> list[int]:
    """A process and all that it started, as far as they still run."""
    found = [pid]
    for task in Path(f"/proc/{pid}/task").glob("*/children"):
        try:
            for child in task.read_text().split():
                found += family(int(child))
        except OSError:
            continue
    return found


def cpu_seconds(pid: int) -> float | None:
    """Seconds of a core that a process has used; ``None`` where it can't be told."""
    try:
        fields = Path(f"/proc/{pid}/stat").read_text().rpartition(")")[2].split()
    except OSError:
        return None
    return (int(fields[11]) + int(fields[12])) / TICK


def peak_megabytes(pid: int) -> float:
    """The most memory a process has held; 0 where it can't be told."""
    try:
        lines = Path(f"/proc/{pid}/status").read_text().splitlines()
    except OSError:
        return 0.0
    return next((int(x.split()[1]) / 1024 for x in lines if x.startswith("VmHWM")), 0.0)


@dataclass(slots=True)
class Cost:
    """``first`` and ``last`` are the seconds of each process when first and last seen."""

    first: dict[int, float] = field(default_factory=dict)
    last: dict[int, float] = field(default_factory=dict)
    peak: dict[int, float] = field(default_factory=dict)

    def look(self, pids: Iterable[int]) -> None:
        for pid in pids:
            if (seconds := cpu_seconds(pid)) is not None:
                self.first.setdefault(pid, seconds)
                self.last[pid] = seconds
                self.peak[pid] = max(self.peak.get(pid, 0.0), peak_megabytes(pid))

    @property
    def seconds(self) -> float:
        return sum(self.last[pid] - self.first[pid] for pid in self.last)

    @property
    def megabytes(self) -> float:
        """The peaks of all processes together; memory they share is counted in each."""
        return sum(self.peak.values())


class Watch:
    """Looks at families of processes twice a second until it is left, and at the server
    processes of the database in use, where they run on this machine."""

    def __init__(self, **roots: int) -> None:
        self._roots = roots
        self.costs = {name: Cost() for name in (*roots, "PostgreSQL")}
        self._over = Event()
        self._thread = Thread(target=self._run, daemon=True)

    def __enter__(self) -> Watch:
        self._thread.start()
        return self

    def __exit__(self, *fault: object) -> None:
        self._over.set()
        self._thread.join()

    def _run(self) -> None:
        from django.db import connection

        try:
            while not self._over.wait(EVERY):
                for name, pid in self._roots.items():
                    self.costs[name].look(family(pid))
                if connection.vendor == "postgresql":
                    with connection.cursor() as cursor:
                        cursor.execute(
                            "SELECT pid FROM pg_stat_activity WHERE datname = current_database()"
                            " AND pid <> pg_backend_pid()"
                        )
                        self.costs["PostgreSQL"].look(pid for (pid,) in cursor.fetchall())
        finally:
            connection.close()


def redis_seconds() -> float:
    """Seconds of a core the Redis of the settings has used, whoever for; 0 without one."""
    from django.conf import settings

    if not settings.REDIS_URL:
        return 0.0
    import redis

    with redis.Redis.from_url(settings.REDIS_URL) as client:
        told = client.info("cpu")
    return float(told["used_cpu_user"]) + float(told["used_cpu_sys"])
