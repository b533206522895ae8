"""Rates as the environment writes them, in the notation of the library of accounts."""

SECONDS = {"s": 1, "m": 60, "h": 3600, "d": 86400}


def account_rate(rate: str, per: str) -> str:
    """``10/hour`` per ``key`` → ``10/3600s/key``. Raises ``ValueError`` for anything else."""
    number, _, period = rate.partition("/")
    if not (number.isascii() and number.isdigit()) or period[:1] not in SECONDS:
        raise ValueError(f"“{rate}” is no rate. Write a number and a time, like 10/hour or 60/min.")
    return f"{int(number)}/{SECONDS[period[0]]}s/{per}"
