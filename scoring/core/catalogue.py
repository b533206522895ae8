"""Known movements: found by the names that coaches write, or suggested for a misspelt one.

A coach may invent a movement, so not being in the catalogue is no error. The usual
seconds, easier options and cautions in it: common practice, no source.
"""

from __future__ import annotations

import difflib
from collections.abc import Iterable
from functools import lru_cache

from .movements import MOVEMENTS, Movement, Pattern, Sides
from .names import FOLDED, plain

__all__ = [
    "Movement",
    "Pattern",
    "Sides",
    "all_movements",
    "canonical",
    "find",
    "meant",
    "suggest",
]

ALIKE = 0.8
"""How alike a misspelt name is to the right one, at least (1 is the same)."""

WORD_ALIKE = 0.6
"""How alike each of its words is, at least: one other word is another movement."""

JOINED_ALIKE = 0.9
"""How alike they are when the words are not as many: `push` alone is no push-up."""

_LONGEST = 80
_SHORT = {
    "bb": "barbell",
    "db": "dumbbell",
    "kb": "kettlebell",
    "sa": "single-arm",
    "sl": "single-leg",
    "&": "and",
    "+": "and",
}
_SQUASHED = str.maketrans("", "", " -'.")


def _tidy(name: str) -> str:
    return plain(name).translate(FOLDED).lower()


def _key(name: str) -> str:
    """What is left of a name when spelling habits are taken out: `Push ups` is `pushups`."""
    words = [_SHORT.get(word, word) for word in _tidy(name).split()]
    return "".join(words).translate(_SQUASHED)


def _plural(name: str) -> str:
    if name.endswith(("s", "x", "z", "ch", "sh")):
        return name + "es"
    if name.endswith("y") and name[-2:-1] not in "aeiou":
        return name[:-1] + "ies"
    return name + "s"


def _spellings(name: str) -> tuple[str, ...]:
    """The name and its plurals, of the last word and (`cleans and jerks`) of all main words."""
    first, joint, rest = name.partition(" and ")
    if not joint:
        first, joint, rest = name.partition(" to ")
    spellings = [name, _plural(name)]
    if joint:
        spellings += [_plural(first) + joint + rest, _plural(first) + joint + _plural(rest)]
    return tuple(spellings)


def _index() -> dict[str, tuple[Movement, str]]:
    """Movement and the spelling it is meant by, for every key; names go before aliases."""
    index: dict[str, tuple[Movement, str]] = {}
    for names_only in (True, False):
        for movement in MOVEMENTS:
            for name in (movement.name,) if names_only else movement.aliases:
                for spelling in _spellings(name):
                    index.setdefault(_key(spelling), (movement, spelling))
    return index


_INDEX = _index()


def all_movements() -> tuple[Movement, ...]:
    """Every known movement, in the order of the tables."""
    return MOVEMENTS


def find(name: str) -> Movement | None:
    """The movement that ``name`` names, singular or plural, hyphened or not, or by an alias."""
    found = _INDEX.get(_key(name))
    return found[0] if found else None


def canonical(name: str) -> str:
    """The catalogue's name for ``name``; one it does not know is only tidied, as lower case."""
    found = find(name)
    return found.name if found else _tidy(name)


def meant(name: str, names: Iterable[str]) -> str:
    """The one of ``names`` that ``name`` spells otherwise, as ``push ups`` for ``push-up``;
    ``name`` itself where it is none of them."""
    listed = list(names)
    if name in listed or not _key(name):
        return name
    wanted = {_key(spelling) for spelling in _spellings(_tidy(canonical(name)))}
    return next((each for each in listed if _key(canonical(each)) in wanted), name)


@lru_cache(maxsize=1024)
def suggest(name: str) -> str | None:
    """The known movement that a misspelt ``name`` most likely means.

    Returns
    -------
    str or None
        A name of the catalogue; ``None`` when ``name`` is known as it stands, and when
        it is like none closely enough, as for a movement that the coach invented.
    """
    if len(name) > _LONGEST:
        return None
    key = _key(name)
    if not key or key in _INDEX:
        return None
    words = _words(name)
    for movement, spelling in _INDEX.values():
        if sorted(_words(spelling)) == sorted(words):
            return movement.name  # the same words in another order, as `squat goblet`
    for close in difflib.get_close_matches(key, _INDEX, n=5, cutoff=ALIKE):
        movement, spelling = _INDEX[close]
        if _words_alike(words, _words(spelling), _ratio(key, close)):
            return movement.name
    return None


def _words(name: str) -> list[str]:
    return _tidy(name).replace("-", " ").split()


def _ratio(one: str, other: str) -> float:
    return difflib.SequenceMatcher(None, one, other).ratio()


def _words_alike(written: list[str], meant: list[str], whole: float) -> bool:
    """Whether no word is quite another one, in names that are alike as a ``whole``."""
    if len(written) != len(meant):
        return whole >= JOINED_ALIKE
    return all(
        sorted(one) == sorted(other) or _ratio(one, other) >= WORD_ALIKE
        for one, other in zip(written, meant, strict=True)
    )
