"""Rows that are written once: facts, prescriptions, credit tables."""

from __future__ import annotations

from typing import Any

from django.db import models


class ImmutableError(TypeError):
    """Somebody tried to change a row that is a fact."""


class ImmutableQuerySet(models.QuerySet[Any]):
    """A query set that can add rows and read them, nothing else."""

    def update(self, **kwargs: Any) -> int:
        raise ImmutableError(f"{self.model.__name__} rows are never changed; add a new one")

    def bulk_update(self, *args: Any, **kwargs: Any) -> int:
        raise ImmutableError(f"{self.model.__name__} rows are never changed; add a new one")

    def delete(self) -> tuple[int, dict[str, int]]:
        raise ImmutableError(f"{self.model.__name__} rows are never deleted")


class Immutable(models.Model):
    """A row that refuses to be saved twice or deleted."""

    objects = ImmutableQuerySet.as_manager()

    class Meta:
        abstract = True

    def save(self, *args: Any, **kwargs: Any) -> None:
        if not self._state.adding:
            raise ImmutableError(f"{type(self).__name__} rows are never changed; add a new one")
        super().save(*args, **kwargs)

    def delete(self, *args: Any, **kwargs: Any) -> tuple[int, dict[str, int]]:
        raise ImmutableError(f"{type(self).__name__} rows are never deleted")
