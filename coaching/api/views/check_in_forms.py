"""`/check-in-forms`: the business's own questions."""

from uuid import UUID

from drf_spectacular.utils import extend_schema
from rest_framework.request import Request
from rest_framework.response import Response

from coaching.actions.check_in_forms import create_check_in_form, update_check_in_form
from coaching.api.serializers.check_in_forms import (
    CheckInFormChangeSerializer,
    CheckInFormInSerializer,
    CheckInFormSerializer,
    CheckInFormWithVersionsSerializer,
    show_check_in_form,
    show_check_in_forms,
    show_with_versions,
)
from coaching.http.query_parameters import QueryParameter
from coaching.http.schema import page_of
from coaching.http.views import OperationView
from coaching.selectors.check_in_forms import get_check_in_form, list_check_in_forms, list_form_versions


class CheckInFormsView(OperationView):
    """The business's check-in forms."""

    operations = {"GET": "check_in_forms.list", "POST": "check_in_forms.create"}
    lists = frozenset({"GET"})
    query_parameters = {"GET": (QueryParameter("retired", "Only those no longer offered, or not.", kind="boolean"),)}

    @extend_schema(responses=page_of(CheckInFormSerializer))
    def get(self, _request: Request) -> Response:
        """List forms by name, with their present questions."""
        rows = list_check_in_forms(retired=self.query["retired"])
        return self.page(rows, order=("name", "id"), show=show_check_in_forms)

    @extend_schema(request=CheckInFormInSerializer, responses={201: CheckInFormSerializer})
    def post(self, _request: Request) -> Response:
        """Make a form; check-ins then answer it by its id."""
        row = create_check_in_form(**self.body(CheckInFormInSerializer))
        location = f"/api/v1/check-in-forms/{row.id}"
        return self.single(show_check_in_form(row), row.row_version, status=201, location=location)


class CheckInFormView(OperationView):
    """A check-in form."""

    operations = {"GET": "check_in_forms.read", "PATCH": "check_in_forms.update"}

    @extend_schema(responses=CheckInFormWithVersionsSerializer)
    def get(self, _request: Request, form_id: UUID) -> Response:
        """Return a form with every version of its questions."""
        row = get_check_in_form(form_id=form_id)
        return self.single(show_with_versions(row, list_form_versions(form_id=form_id)), row.row_version)

    @extend_schema(request=CheckInFormChangeSerializer, responses=CheckInFormSerializer)
    def patch(self, _request: Request, form_id: UUID) -> Response:
        """Change a form; other questions make a new version, and what was answered keeps the one it answered."""
        changes = self.body(CheckInFormChangeSerializer)
        row = update_check_in_form(form_id=form_id, versions=self.versions(), **changes)
        return self.single(show_check_in_form(row), row.row_version)
