"""Whether the caller may call the operation at all, by the one table."""

from typing import Any

from rest_framework.permissions import BasePermission
from rest_framework.request import Request

from coaching.policy import allows, is_for
from coaching.refusals import Forbidden


class SecondFactorNeeded(Forbidden):
    """The business asks the caller for a second factor, and none stands yet."""

    code = "second_factor_needed"


class OperationAllowed(BasePermission):
    """Reads the view's operation of this method; a method without one is refused by default."""

    def has_permission(self, request: Request, view: Any) -> bool:
        """Say whether the policy allows it."""
        operation, principal = view.operation, getattr(request, "principal", None)
        # A method that the view lacks is refused as such, not as forbidden.
        if operation is None or allows(principal, operation):
            return True
        if is_for(principal, operation):
            raise SecondFactorNeeded(
                "This business asks for a second factor: set one up with POST /api/v1/me/second-factor; until then "
                "your session can look after your own account, and nothing else."
            )
        return False
