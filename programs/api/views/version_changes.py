"""`/program-versions/{id}/diff` and `/program-versions/{id}/preview`."""

from uuid import UUID

from drf_spectacular.utils import extend_schema
from rest_framework.request import Request
from rest_framework.response import Response

from coaching.http.query_parameters import QueryParameter
from coaching.http.views import OperationView
from programs.api.serializers.version_changes import (
    VersionDiffSerializer,
    VersionPreviewSerializer,
    WeeksInSerializer,
    show_preview,
    show_version_changes,
)
from programs.selectors.version_changes import version_changes, version_preview


class VersionDiffView(OperationView):
    """A version held against another."""

    operations = {"GET": "program_versions.diff"}
    query_parameters = {
        "GET": (QueryParameter("against", "The version to hold it against.", kind="uuid", required=True),)
    }
    versioned = False

    @extend_schema(responses=VersionDiffSerializer)
    def get(self, _request: Request, version_id: UUID) -> Response:
        """Say in words what the version has otherwise than the one that it is held against."""
        return Response(show_version_changes(version_changes(version_id=version_id, against_id=self.query["against"])))


class VersionPreviewView(OperationView):
    """The weeks that a version's progression makes."""

    operations = {"POST": "program_versions.preview"}
    versioned = False

    @extend_schema(request=WeeksInSerializer, responses=VersionPreviewSerializer)
    def post(self, _request: Request, version_id: UUID) -> Response:
        """Expand the progression to explicit weeks and say what each changes; store nothing."""
        weeks = self.body(WeeksInSerializer).get("weeks")
        return Response(show_preview(version_preview(version_id=version_id, weeks=weeks)))
