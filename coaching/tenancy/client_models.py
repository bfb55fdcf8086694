"""Which tables hold rows that belong to a client, found from the models: a new table can't be forgotten."""

from dataclasses import dataclass
from functools import cache
from typing import Any

from django.apps import apps
from django.db import models

from coaching.tenancy.models import BusinessScopedModel


@dataclass(frozen=True, slots=True)
class ClientModel:
    """A model whose rows go with their client.

    Attributes:
        model: which.
        keys: the columns that lead from it to the client's id, each with the table that it names a row of.
    """

    model: type[models.Model]
    keys: tuple[tuple[str, str], ...]

    @property
    def table(self) -> str:
        """Its table."""
        return self.model._meta.db_table

    @property
    def condition(self) -> str:
        """The SQL condition of the rows of `%(client)s` in the business `%(business)s`."""
        return _condition(self.keys)


@cache
def client_models() -> tuple[ClientModel, ...]:
    """Return them all, those that point at others first, so that each can be emptied after those that hang on it."""
    found: dict[type[models.Model], tuple[tuple[str, str], ...]] = {}
    reached: list[tuple[type[models.Model], tuple[tuple[str, str], ...]]] = [(apps.get_model("coaching", "Client"), ())]
    while reached:
        parent, path = reached.pop(0)
        for model, key in _hanging_on(parent):
            if model not in found:
                found[model] = ((key.column, parent._meta.db_table), *path)
                reached.append((model, found[model]))
    return tuple(ClientModel(model, found[model]) for model in _pointing_first(found))


def _condition(keys: tuple[tuple[str, str], ...]) -> str:
    (column, parent), *way = keys
    if not way:
        return f"{column} = %(client)s"
    return f"{column} IN (SELECT id FROM {parent} WHERE business_id = %(business)s AND {_condition(tuple(way))})"


def _hanging_on(parent: type[models.Model]) -> list[tuple[type[models.Model], Any]]:
    return [
        (model, key)
        for model in apps.get_models()
        if issubclass(model, BusinessScopedModel)
        for key in model._meta.concrete_fields
        if isinstance(key, models.ForeignKey)
        and key.related_model is parent
        and key.remote_field.on_delete is models.CASCADE
    ]


def _pointing_first(found: dict[type[models.Model], Any]) -> list[type[models.Model]]:
    left, ordered = list(found), []
    while left:
        free = [model for model in left if not any(_points_at(other, model) for other in left if other is not model)]
        ordered += free or left
        left = [model for model in left if model not in ordered]
    return ordered


def _points_at(model: type[models.Model], other: type[models.Model]) -> bool:
    return any(isinstance(key, models.ForeignKey) and key.related_model is other for key in model._meta.concrete_fields)
