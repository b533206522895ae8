"""Finding whom a few typed letters mean among the names of a gym."""

from __future__ import annotations

import unicodedata
from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from difflib import get_close_matches

MOST_WORDS = 5
SURE_LETTERS = 3
"""So many letters at least complete a name without asking, if it is the only one."""

ALIKE = 0.65
SHOWN = 6
NEAR = 24
"""How many names, those with the most letters and pairs in common, are compared closely."""


def fold(text: str) -> str:
    """A name as it is compared: no accents, no capitals, no dots or hyphens."""
    plain = unicodedata.normalize("NFKD", text)
    kept = (sign if sign.isalnum() else " " for sign in plain if not unicodedata.combining(sign))
    return " ".join("".join(kept).casefold().split())


@dataclass(frozen=True, slots=True)
class Found:
    """Whom words mean: ids, the likeliest first. ``words`` are how many of the words the
    name takes up; ``is_sure`` only with one id and no guess in it."""

    ids: tuple[int, ...]
    words: int
    is_sure: bool


NOBODY = Found((), 0, False)


class NameBook:
    """The names of a gym, made ready for looking many lines up.

    Parameters
    ----------
    names
        Display name by id. Two people may have one name: then it is asked.
    """

    def __init__(self, names: Mapping[int, str]) -> None:
        self.names = dict(names)
        self._tokens = {pk: tuple(fold(name).split()) for pk, name in names.items()}
        self._by_letter: dict[str, list[int]] = {}
        self._keys: dict[int, dict[str, list[int]]] = {1: {}, 2: {}}
        self._by_part: dict[tuple[int, str], list[str]] = {}
        self._by_token: dict[str, list[int]] = {}
        for pk, tokens in self._tokens.items():
            for token in dict.fromkeys(tokens):
                self._by_token.setdefault(token, []).append(pk)
            for letter in dict.fromkeys(token[0] for token in tokens):
                self._by_letter.setdefault(letter, []).append(pk)
            for count, keys in self._keys.items():
                keys.setdefault(" ".join(tokens[:count]), []).append(pk)
        for count, keys in self._keys.items():
            for key in keys:
                for part in _parts(key):
                    self._by_part.setdefault((count, part), []).append(key)

    def find(self, words: Sequence[str]) -> Found:
        """Whom the first of these words mean; the longest name that fits wins.

        ``Ana``, ``ana s`` and ``sol`` find Ana Sol where nobody else fits. Two who fit, or
        a misspelt name, are answered as candidates and are not sure.
        """
        folded = [part for word in words[:MOST_WORDS] for part in [fold(word)] if part]
        if not folded or len(folded) < len(words[:MOST_WORDS]):
            # A sign such as a dash is no part of a name: the words before it are.
            cut = next((i for i, w in enumerate(words[:MOST_WORDS]) if not fold(w)), len(words))
            folded = [fold(word) for word in words[: min(cut, MOST_WORDS)]]
        for count in range(len(folded), 0, -1):
            found = self._exactly(" ".join(folded[:count]).split())
            if found:
                sure = len(found) == 1 and (
                    self._is_whole(folded[:count], found[0])
                    or sum(map(len, folded[:count])) >= SURE_LETTERS
                )
                return Found(tuple(found), count, sure)
        return self._alike(folded)

    def _is_whole(self, words: Sequence[str], pk: int) -> bool:
        return " ".join(words).split()[0] in self._tokens[pk]

    def _exactly(self, wanted: list[str]) -> list[int]:
        """Equal names before equal parts of names before beginnings of them."""
        near = self._by_letter.get(wanted[0][0], [])
        whole = [pk for pk in near if list(self._tokens[pk]) == wanted]
        if whole:
            return whole
        if len(wanted) == 1 and wanted[0] in self._by_token:
            equal = self._by_token[wanted[0]]
            first = [pk for pk in equal if self._tokens[pk][0] == wanted[0]]
            return first or list(equal)
        return [pk for pk in near if _begins(self._tokens[pk], wanted)]

    def _alike(self, folded: list[str]) -> Found:
        for count in range(min(2, len(folded)), 0, -1):
            written = " ".join(folded[:count])
            if len(written) < SURE_LETTERS:
                continue
            keys = self._keys[count]
            close = get_close_matches(written, self._near(written, count), n=3, cutoff=ALIKE)
            ids = [pk for key in close for pk in keys[key]]
            if ids:
                return Found(tuple(ids[:SHOWN]), count, is_sure=False)
        return NOBODY

    def _near(self, written: str, count: int) -> list[str]:
        """The names that could be alike, without a close look at each of them."""
        parts = _parts(written)
        shared = Counter(key for part in parts for key in self._by_part.get((count, part), ()))
        alike = {key: times / (len(parts) + 2 * len(key)) for key, times in shared.items()}
        return sorted(alike, key=lambda key: (-alike[key], key))[:NEAR]


def _parts(name: str) -> set[str]:
    """The letters of a name and the pairs that stand side by side in it."""
    return {*name, *(name[i : i + 2] for i in range(len(name) - 1))}


def _begins(tokens: tuple[str, ...], wanted: list[str]) -> bool:
    """Whether words begin a name's parts, in their order, leaving out none before the first
    that fits: ``ana s`` begins Ana Sol, ``s`` alone its second part."""
    if len(wanted) > len(tokens):
        return False
    starts = range(len(tokens) - len(wanted) + 1)
    return any(
        all(tokens[start + i].startswith(word) for i, word in enumerate(wanted)) for start in starts
    )
