"""Twice as much to read is at most about twice the work, however hostile it is.

Work is counted, not timed: calls of functions, as the interpreter sees them. Patterns, whose
steps it doesn't see, are looked at in tests/test_patterns.py.
"""

import sys

import pytest

from scoring.core import catalogue
from scoring.core.course import Course
from scoring.core.credits import ChoiceError, CreditTable, parse_choices
from scoring.core.name_book import NameBook
from scoring.core.notation import MAX_LINES, MAX_TEXT, NotationError, parse
from scoring.core.scoring import Rules
from scoring.core.sheet import SheetError
from scoring.core.sheet_board import score_rows
from scoring.core.told_chat import read_chat_line
from scoring.core.told_line import read_line
from scoring.core.told_sheet import read_told_sheet

from ..conftest import TWO_LADDERS

COURSE = Course(parse(TWO_LADDERS).workout)
BOOK = NameBook({number: f"Ana{number} Sol{number}" for number in range(50)})


def work(act, *args):
    """How many functions are called meanwhile."""
    count = 0

    def seen(_frame, event, _arg):
        nonlocal count
        count += event in ("call", "c_call")

    sys.setprofile(seen)
    try:
        act(*args)
    finally:
        sys.setprofile(None)
    return count


def board(text):
    try:
        Course(parse(text).workout)
    except NotationError:
        pass


def options(text):
    try:
        parse_choices(COURSE, text)
    except ChoiceError:
        pass


def told(text):
    read_line(text, course=COURSE, names=BOOK)


def chat(text):
    lines = text.split("\n")
    for number, line in enumerate(lines):
        read_chat_line(
            line, course=COURSE, book=BOOK,
            before=lines[max(0, number - 2) : number][::-1], after=lines[number + 1 : number + 2],
        )  # fmt: skip


def sheet(text):
    try:
        found, _ = read_told_sheet(text, most=100_000)
    except SheetError:
        return
    score_rows(COURSE, Rules(CreditTable()), found.rows)


HEAD = "A tide\ncap 12:00\n\n"
CASES = {
    "blocks": (board, lambda n: HEAD + "3 rounds\n10 push-up\n\n" * n, 40),
    "lines": (board, lambda n: HEAD + "3 rounds\n" + "10 push-up\n" * n, 50),
    "options of a line": (
        board,
        lambda n: HEAD + "3 rounds\n10 push-up\n" + "  or knee push-up\n" * n,
        50,
    ),
    "unknown movements": (
        board,
        lambda n: (
            HEAD
            + "3 rounds\n"
            + "".join(f"{i} gh{i % 26}x y{chr(97 + i % 26)}\n" for i in range(1, n))
        ),
        60,
    ),
    "lines at fault": (board, lambda n: HEAD + "3 rounds\n" + "10 @ @ @\n" * n, 50),
    "caps": (board, lambda n: "A tide\n" + "cap 12:00\n" * n, 100),
    "rungs": (board, lambda n: HEAD + "-".join(["9"] * n) + "\npush-up\n", 20),
    "a long text": (board, lambda n: "a" * n, MAX_TEXT),
    "empty lines": (board, lambda n: "\n" * n, 4_000),
    "options told": (options, lambda n: "tuck rock: 1; " * n, 30),
    "semicolons": (options, lambda n: ";" * n, 400),
    "colons": (options, lambda n: ":" * n, 400),
    "parts behind a mark": (told, lambda n: "ana1 2+9 " + "a, " * n, 20),
    "figures": (told, lambda n: "1:1 " * n, 15),
    "names": (told, lambda n: "ana1 sol1 " * n + "2+9", 6),
    "a very long line": (told, lambda n: "ana1 " * n, 10_000),
    "a chat": (chat, lambda n: "Ana1 Sol1\n18:42\n2+9 tuck\n" * n, 20),
    "a chat of names": (chat, lambda n: "Ana1 Sol1\n" * n, 60),
    "rows": (sheet, lambda n: "name,mark\n" + "".join(f"Ana{i},{i}+9\n" for i in range(n)), 50),
    "quotes left open": (sheet, lambda n: "name,mark\n" + 'Ana,"2+9\n' * n, 100),
    "columns": (sheet, lambda n: "name,mark" + ",x" * n, 10_000),
    "cells": (sheet, lambda n: "name,mark\n" + "a," * n, 10_000),
    "one name": (sheet, lambda n: "name,mark\n" + "Ana,2+9\n" * n, 100),
}


@pytest.mark.parametrize("case", CASES)
def test_twice_as_much_is_at_most_about_twice_the_work(case):
    act, made, size = CASES[case]
    act(made(size))  # what is kept ready is made before it is counted
    act(made(2 * size))
    first, second, third = (work(act, made(size * times)) for times in (1, 2, 4))
    allowed = 2.3
    assert second <= allowed * first + 200 and third <= allowed * second + 200, (
        first,
        second,
        third,
    )


def test_the_work_of_such_a_count_is_seen():
    squares = [work(lambda n: [len("") for _ in range(n * n)], n) for n in (50, 100, 200)]
    assert squares[1] > 3 * squares[0] and squares[2] > 3 * squares[1]


def test_whoever_writes_most_is_refused_before_anything_is_read():
    assert work(board, "a\n" * MAX_TEXT) < 100
    assert work(board, "\n" * MAX_LINES + "x") < 40_000
    assert catalogue.suggest("a" * 10_000) is None
