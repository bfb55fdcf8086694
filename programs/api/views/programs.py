"""`/programs`, `/programs/{id}/versions` and `/program-versions/{id}`."""

from uuid import UUID

from django.utils import timezone
from drf_spectacular.utils import extend_schema
from rest_framework.request import Request
from rest_framework.response import Response

from coaching.http.query_parameters import QueryParameter
from coaching.http.schema import page_of
from coaching.http.unknown_fields import StrictSerializer
from coaching.http.views import OperationView
from programs.actions.programs import change_program, create_program
from programs.actions.versions import publish_version, replace_content, withdraw_version, write_draft
from programs.api.serializers.prescriptions import VersionAnalysisSerializer, show_version_analysis
from programs.api.serializers.programs import (
    ProgramChangeSerializer,
    ProgramInSerializer,
    ProgramSerializer,
    VersionChangeSerializer,
    VersionHeadSerializer,
    VersionInSerializer,
    VersionSerializer,
    show_program,
    show_programs,
    show_version,
    show_version_heads,
)
from programs.api.serializers.version_changes import WeeksInSerializer
from programs.selectors.analyses import version_analysis
from programs.selectors.programs import get_program, get_version, list_programs, list_versions


class ProgramsView(OperationView):
    """What the business coaches by."""

    operations = {"GET": "programs.list", "POST": "programs.create"}
    lists = frozenset({"GET"})
    query_parameters = {"GET": (QueryParameter("archived", "Only archived ones, or only others.", kind="boolean"),)}

    @extend_schema(responses=page_of(ProgramSerializer))
    def get(self, _request: Request) -> Response:
        """List programs with their variants, newest first."""
        rows = list_programs(archived=self.query["archived"])
        return self.page(rows, order=("-id",), show=show_programs)

    @extend_schema(request=ProgramInSerializer, responses={201: ProgramSerializer})
    def post(self, _request: Request) -> Response:
        """Make a program with its variants."""
        body = self.body(ProgramInSerializer)
        made = create_program(
            name=body["name"],
            notes=body.get("notes", ""),
            variants=[variant["name"] for variant in body.get("variants", [])],
        )
        row = get_program(program_id=made.id)
        return self.single(show_program(row), row.row_version, status=201, location=f"/api/v1/programs/{row.id}")


class ProgramView(OperationView):
    """A program."""

    operations = {"GET": "programs.read", "PATCH": "programs.update"}

    @extend_schema(responses=ProgramSerializer)
    def get(self, _request: Request, program_id: UUID) -> Response:
        """Return a program with its variants and the heads of their versions."""
        row = get_program(program_id=program_id)
        return self.single(show_program(row), row.row_version)

    @extend_schema(request=ProgramChangeSerializer, responses=ProgramSerializer)
    def patch(self, _request: Request, program_id: UUID) -> Response:
        """Change its name, notes or archived mark, and add variants."""
        body = self.body(ProgramChangeSerializer)
        added = [variant["name"] for variant in body.pop("add_variants", [])]
        change_program(program_id=program_id, versions=self.versions(), add_variants=added, **body)
        row = get_program(program_id=program_id)
        return self.single(show_program(row), row.row_version)


class ProgramVersionsView(OperationView):
    """The versions of a program's variants."""

    operations = {"GET": "program_versions.list", "POST": "program_versions.create"}
    lists = frozenset({"GET"})

    @extend_schema(responses=page_of(VersionHeadSerializer))
    def get(self, _request: Request, program_id: UUID) -> Response:
        """List versions without their content, newest first."""
        return self.page(list_versions(program_id=program_id), order=("-id",), show=show_version_heads)

    @extend_schema(request=VersionInSerializer, responses={201: VersionSerializer})
    def post(self, _request: Request, program_id: UUID) -> Response:
        """Begin a draft of a variant; a variant has one draft at a time."""
        body = self.body(VersionInSerializer)
        made = write_draft(program_id=program_id, variant_id=body["variant"], content=body["content"])
        row = get_version(version_id=made.id)
        location = f"/api/v1/program-versions/{row.id}"
        return self.single(show_version(row), row.row_version, status=201, location=location)


class ProgramVersionView(OperationView):
    """A version."""

    operations = {"GET": "program_versions.read", "PATCH": "program_versions.update"}

    @extend_schema(responses=VersionSerializer)
    def get(self, _request: Request, version_id: UUID) -> Response:
        """Return a version with its content."""
        row = get_version(version_id=version_id)
        return self.single(show_version(row), row.row_version)

    @extend_schema(request=VersionChangeSerializer, responses=VersionSerializer)
    def patch(self, _request: Request, version_id: UUID) -> Response:
        """Replace a draft's content, whole; published and withdrawn versions never change."""
        body = self.body(VersionChangeSerializer)
        replace_content(version_id=version_id, versions=self.versions(), content=body["content"])
        row = get_version(version_id=version_id)
        return self.single(show_version(row), row.row_version)


class PublishView(OperationView):
    """Freezing a draft."""

    operations = {"POST": "program_versions.publish"}

    @extend_schema(request=WeeksInSerializer, responses=VersionSerializer)
    def post(self, _request: Request, version_id: UUID) -> Response:
        """Freeze a draft, its progression expanded to explicit weeks; refused while its analysis has errors."""
        publish_version(
            actor_membership_id=self.principal.membership_id,
            version_id=version_id,
            now=timezone.now(),
            weeks=self.body(WeeksInSerializer).get("weeks"),
        )
        row = get_version(version_id=version_id)
        return self.single(show_version(row), row.row_version)


class WithdrawView(OperationView):
    """Taking a version out of new use."""

    operations = {"POST": "program_versions.withdraw"}

    @extend_schema(request=None, responses=VersionSerializer)
    def post(self, _request: Request, version_id: UUID) -> Response:
        """Take a published version out of new use; clients who follow it go on."""
        self.body(StrictSerializer)
        withdraw_version(version_id=version_id)
        row = get_version(version_id=version_id)
        return self.single(show_version(row), row.row_version)


class VersionAnalysisView(OperationView):
    """The analysis of a version."""

    operations = {"GET": "program_versions.analysis"}

    @extend_schema(responses=VersionAnalysisSerializer)
    def get(self, _request: Request, version_id: UUID) -> Response:
        """Return the analysis of the whole version, session by session and week by week."""
        analysis, facts = version_analysis(get_version(version_id=version_id))
        return Response(show_version_analysis(analysis, facts))
