"""`/retention-policy`."""

from drf_spectacular.utils import extend_schema
from rest_framework.request import Request
from rest_framework.response import Response

from coaching.actions.retention import change_retention
from coaching.api.serializers.retention import RetentionChangeSerializer, RetentionPolicySerializer, show_retention
from coaching.http.views import OperationView
from coaching.selectors.retention import get_retention_policy


class RetentionPolicyView(OperationView):
    """How long the business keeps what it holds."""

    operations = {"GET": "retention_policy.read", "PATCH": "retention_policy.update"}

    @extend_schema(responses=RetentionPolicySerializer)
    def get(self, _request: Request) -> Response:
        """Return how long the business keeps what it holds."""
        policy = get_retention_policy()
        return self.single(show_retention(policy), policy.row_version)

    @extend_schema(request=RetentionChangeSerializer, responses=RetentionPolicySerializer)
    def patch(self, _request: Request) -> Response:
        """Change how long; what is older by then goes the next night, for good."""
        policy = change_retention(versions=self.versions(), **self.body(RetentionChangeSerializer, partial=True))
        return self.single(show_retention(policy), policy.row_version)
