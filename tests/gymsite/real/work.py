"""Tasks of the tests: one that works, one that fails with words of a person."""

from celery import shared_task


@shared_task(name="real.good")
def good(number):
    return number


@shared_task(name="real.bad")
def bad(name):
    raise ValueError(f"the note of {name}: my knee hurts")
