"""`/clients/{id}/places`."""

from uuid import UUID

from django.utils import timezone
from drf_spectacular.utils import OpenApiResponse, extend_schema
from rest_framework.request import Request
from rest_framework.response import Response

from coaching.actions.places import create_place, remove_place, update_place
from coaching.api.serializers.places import PlaceInSerializer, PlaceSerializer, show_place, show_places
from coaching.http.schema import page_of
from coaching.http.views import OperationView
from coaching.selectors.places import get_place, list_places


class PlacesView(OperationView):
    """Where a client trains."""

    operations = {"GET": "places.list", "POST": "places.create"}
    lists = frozenset({"GET"})

    @extend_schema(responses=page_of(PlaceSerializer))
    def get(self, _request: Request, client_id: UUID) -> Response:
        """List a client's places by name."""
        rows = list_places(actor=self.principal, client_id=client_id)
        return self.page(rows, order=("name", "id"), show=show_places)

    @extend_schema(request=PlaceInSerializer, responses={201: PlaceSerializer})
    def post(self, _request: Request, client_id: UUID) -> Response:
        """Write down a place."""
        row = create_place(actor=self.principal, client_id=client_id, **self.body(PlaceInSerializer))
        location = f"/api/v1/clients/{client_id}/places/{row.id}"
        return self.single(show_place(row), row.row_version, status=201, location=location)


class PlaceView(OperationView):
    """A place where a client trains."""

    operations = {"GET": "places.read", "PATCH": "places.update", "DELETE": "places.delete"}

    @extend_schema(responses=PlaceSerializer)
    def get(self, _request: Request, client_id: UUID, place_id: UUID) -> Response:
        """Return a place."""
        row = get_place(actor=self.principal, client_id=client_id, place_id=place_id)
        return self.single(show_place(row), row.row_version)

    @extend_schema(request=PlaceInSerializer, responses=PlaceSerializer)
    def patch(self, _request: Request, client_id: UUID, place_id: UUID) -> Response:
        """Change a place; sessions to come that are planned for it are reckoned anew."""
        row = update_place(
            actor=self.principal,
            client_id=client_id,
            place_id=place_id,
            versions=self.versions(),
            now=timezone.now(),
            **self.body(PlaceInSerializer, partial=True),
        )
        return self.single(show_place(row), row.row_version)

    @extend_schema(responses={204: OpenApiResponse(description="Removed; travel that was to it goes on without one.")})
    def delete(self, _request: Request, client_id: UUID, place_id: UUID) -> Response:
        """Remove a place; sessions to come that were planned for it are planned as usual."""
        remove_place(
            actor=self.principal,
            client_id=client_id,
            place_id=place_id,
            versions=self.versions(),
            now=timezone.now(),
        )
        return Response(status=204)
