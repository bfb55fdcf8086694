"""`/api-keys`."""

from uuid import UUID

from django.utils import timezone
from drf_spectacular.utils import extend_schema
from rest_framework.request import Request
from rest_framework.response import Response

from coaching.actions.api_keys import create_api_key, revoke_api_key, rotate_api_key
from coaching.api.serializers.api_keys import (
    ApiKeyInSerializer,
    ApiKeyMadeSerializer,
    ApiKeyRotationSerializer,
    ApiKeySerializer,
)
from coaching.http.schema import page_of
from coaching.http.views import OperationView
from coaching.selectors.api_keys import get_api_key, list_api_keys


class ApiKeysView(OperationView):
    """Keys of programs."""

    operations = {"GET": "api_keys.list", "POST": "api_keys.create"}
    lists = frozenset({"GET"})
    takes_idempotency_key = False

    @extend_schema(responses=page_of(ApiKeySerializer))
    def get(self, _request: Request) -> Response:
        """List the business's keys, newest first, revoked ones among them."""
        return self.page(list_api_keys(), order=("-created_at", "-id"), show=list)

    @extend_schema(request=ApiKeyInSerializer, responses={201: ApiKeyMadeSerializer})
    def post(self, _request: Request) -> Response:
        """Make a key; its secret is shown this once."""
        made, secret = create_api_key(created_by=self.principal.membership_id, **self.body(ApiKeyInSerializer))
        answer = {**get_api_key(key_id=made.id), "key": secret}
        return Response(answer, status=201, headers={"Location": f"/api/v1/api-keys/{made.id}"})


class ApiKeyView(OperationView):
    """A key of a program."""

    operations = {"DELETE": "api_keys.delete"}
    versioned = False

    @extend_schema(responses={204: None})
    def delete(self, _request: Request, key_id: UUID) -> Response:
        """Revoke a key, from now on."""
        revoke_api_key(key_id=key_id, now=timezone.now())
        return Response(status=204)


class ApiKeyRotationView(OperationView):
    """The secret of a key."""

    operations = {"POST": "api_keys.rotate"}
    takes_idempotency_key = False

    @extend_schema(request=ApiKeyRotationSerializer, responses=ApiKeyMadeSerializer)
    def post(self, _request: Request, key_id: UUID) -> Response:
        """Give a key a new secret, shown this once; the one before stays good for the overlap."""
        secret = rotate_api_key(key_id=key_id, now=timezone.now(), **self.body(ApiKeyRotationSerializer))
        return Response({**get_api_key(key_id=key_id), "key": secret})
