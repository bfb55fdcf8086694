"""Which columns of a table are exported: all of them, but for a reviewed list, and names beside ids."""

from typing import Any, Final

from django.db import models

EVERYWHERE: Final = {
    "business": "the same in every row, and told once",
    "content_hash": "a digest that the service compares deliveries by",
    "lease_token": "which worker is at a row",
    "lease_until": "until when a worker is at a row",
    "claimed_until": "until when a worker is at a row",
}
"""Columns left out of every table, each with its reason."""

LEFT_OUT: Final = {
    "coaching.ApiKey.digest": "proves a credential",
    "coaching.ApiKey.previous_digest": "proves a credential",
    "coaching.Person.password": "proves a credential",
}
"""Columns of one table left out, each with its reason."""

_READABLE: Final = ("key", "name")
_UNNAMED: Final = frozenset({"coaching.Client", "coaching.Business", "coaching.Person", "coaching.ApiKey"})


def columns_of(model: type[models.Model]) -> list[str]:
    """Return the columns of a table that are exported, in the model's order; ids are followed by what they name."""
    found: list[str] = []
    for field in model._meta.concrete_fields:
        if field.name in EVERYWHERE or f"{model._meta.label}.{field.name}" in LEFT_OUT:
            continue
        found += [field.attname, *_names(field)]
    return found


def _names(field: "models.Field[Any, Any]") -> list[str]:
    related = field.related_model
    if not isinstance(related, type) or related._meta.label in _UNNAMED:
        return []
    there = {one.name for one in related._meta.concrete_fields}
    return [f"{field.name}__{name}" for name in _READABLE if name in there]
