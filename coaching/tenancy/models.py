"""What every table of a business has in common."""

from typing import TypeVar
from uuid import UUID

import uuid_utils.compat
from django.db import models

from coaching.tenancy.scope import current_business_id

Row_co = TypeVar("Row_co", bound=models.Model, covariant=True)


def new_id() -> UUID:
    """Return a UUIDv7: made here, never by a caller, and rising, so that indexes stay dense."""
    return uuid_utils.compat.uuid7()


class BusinessRows(models.Manager[Row_co]):
    """The rows of the business in scope: the application's own filter, above row-level security."""

    def get_queryset(self) -> models.QuerySet[Row_co]:
        """Return this business's rows.

        Raises:
            NoBusinessSetError: when no scope is open.
        """
        return super().get_queryset().filter(business_id=current_business_id())


class BusinessScopedModel(models.Model):
    """A row that belongs to one business.

    Its migration must carry `SecureByBusiness` for the table: an architecture test fails without it.
    Foreign keys to other tables of the business are declared with `db_constraint=False`; the operation
    makes them composite, `(business_id, x_id)`, since a plain one admits another business's row.
    """

    id = models.UUIDField(primary_key=True, default=new_id, editable=False)
    business = models.ForeignKey(
        "coaching.Business",
        on_delete=models.CASCADE,
        default=current_business_id,
        db_constraint=False,
        db_index=False,
        editable=False,
        related_name="+",
    )

    objects = BusinessRows()
    unscoped = models.Manager()

    class Meta:
        abstract = True
        base_manager_name = "unscoped"
        default_manager_name = "objects"
