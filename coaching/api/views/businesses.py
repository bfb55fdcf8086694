"""`/business`."""

from django.utils import timezone
from drf_spectacular.utils import extend_schema
from rest_framework.request import Request
from rest_framework.response import Response

from coaching.actions.businesses import update_business
from coaching.api.serializers.businesses import BusinessChangeSerializer, BusinessSerializer
from coaching.http.views import OperationView
from coaching.selectors.businesses import get_business


class BusinessView(OperationView):
    """The business that the caller works in."""

    operations = {"GET": "business.read", "PATCH": "business.update"}

    @extend_schema(responses=BusinessSerializer)
    def get(self, _request: Request) -> Response:
        """Return the business with its policy."""
        business = get_business(business_id=self.principal.business_id)
        return self.single(business, business["row_version"])

    @extend_schema(request=BusinessChangeSerializer, responses=BusinessSerializer)
    def patch(self, _request: Request) -> Response:
        """Change the business's settings and policy."""
        changes = self.body(BusinessChangeSerializer, partial=True)
        business = update_business(actor=self.principal, versions=self.versions(), now=timezone.now(), **changes)
        return self.single(business, business["row_version"])
