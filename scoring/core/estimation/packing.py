"""An estimate as bytes and back: the same estimate always gives the same bytes."""

from __future__ import annotations

import json
import zlib
from dataclasses import asdict
from typing import Any

import numpy as np

from .estimate import Convergence, Estimate, LevelPaths, Spreads
from .ways import Way, Ways

FORMAT = 1


def packed(estimate: Estimate) -> bytes:
    """A line of JSON that says what follows, then the arrays, little-endian, compressed."""
    arrays: dict[str, np.ndarray[Any, Any]] = {
        "base": estimate.ways.base,
        "parent": estimate.ways.parent,
        "tie": estimate.ways.tie,
        "cost": estimate.cost,
        "covariance": estimate.covariance,
        "used": estimate.used,
        "start": estimate.levels.start,
        "day": estimate.levels.day,
        "mean": estimate.levels.mean,
        "variance": estimate.levels.variance,
        "gain": estimate.levels.gain,
        "with_last": estimate.levels.with_last,
        "results": estimate.levels.results,
        "lean": estimate.levels.lean,
        "effect": estimate.effect,
        "effect_variance": estimate.effect_variance,
        "expected": estimate.expected,
    }
    head = {
        "format": FORMAT,
        "ways": [way.key for way in estimate.ways.ways],
        "spreads": asdict(estimate.spreads),
        "convergence": asdict(estimate.convergence),
        "arrays": [[name, _code(array), list(array.shape)] for name, array in arrays.items()],
    }
    body = b"".join(array.astype(_code(array)).tobytes() for array in arrays.values())
    line = json.dumps(head, sort_keys=True, separators=(",", ":")).encode()
    return zlib.compress(line + b"\n" + body, 6)


def _code(array: np.ndarray[Any, Any]) -> str:
    return "<i8" if array.dtype.kind == "i" else "<f8"


def unpacked(data: bytes) -> Estimate:
    """Read what ``packed`` wrote.

    Raises
    ------
    ValueError
        For bytes that it did not write, or not in this format.
    """
    try:
        line, _, body = zlib.decompress(data).partition(b"\n")
        head = json.loads(line)
    except (zlib.error, ValueError) as error:
        raise ValueError("These bytes are no estimate.") from error
    if head.get("format") != FORMAT:
        raise ValueError("This estimate was written by another version.")
    arrays: dict[str, Any] = {}
    at = 0
    for name, code, shape in head["arrays"]:
        count = int(np.prod(shape))
        arrays[name] = np.frombuffer(body, dtype=code, count=count, offset=at).reshape(shape).copy()
        at += 8 * count
    get = arrays.pop
    ways = Ways(tuple(Way.of(key) for key in head["ways"]), get("base"), get("parent"), get("tie"))
    levels = LevelPaths(
        **{
            name: get(name)
            for name in (
                "start",
                "day",
                "mean",
                "variance",
                "gain",
                "with_last",
                "results",
                "lean",
            )
        }
    )
    return Estimate(
        ways=ways,
        levels=levels,
        spreads=Spreads(**head["spreads"]),
        convergence=Convergence(**head["convergence"]),
        **arrays,
    )
