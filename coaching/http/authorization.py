"""Whether the caller may call the operation at all, by the one table."""

from typing import Any

from rest_framework.permissions import BasePermission
from rest_framework.request import Request

from coaching.policy import allows


class OperationAllowed(BasePermission):
    """Reads the view's operation of this method; a method without one is refused by default."""

    def has_permission(self, request: Request, view: Any) -> bool:
        """Say whether the policy allows it."""
        operation = view.operation
        # A method that the view lacks is refused as such, not as forbidden.
        return operation is None or allows(getattr(request, "principal", None), operation)
