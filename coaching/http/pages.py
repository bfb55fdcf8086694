"""The pages that describe the API, from files served here, under a policy that admits no other host."""

from typing import Any, ClassVar, Final

from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import render
from drf_spectacular.renderers import OpenApiJsonRenderer, OpenApiJsonRenderer2, OpenApiYamlRenderer
from drf_spectacular.utils import extend_schema
from drf_spectacular.views import SpectacularAPIView, SpectacularSwaggerSplitView
from rest_framework.request import Request
from rest_framework.response import Response

from coaching.http.problem_types import PROBLEM_TYPES

_DOCS_POLICY: Final = (
    "default-src 'none'; script-src 'self'; style-src 'self' 'unsafe-inline'; img-src 'self' data:; "
    "font-src 'self'; connect-src 'self'; base-uri 'none'; form-action 'none'; frame-ancestors 'none'"
)
_PAGE_POLICY: Final = (
    "default-src 'none'; style-src 'self'; base-uri 'none'; form-action 'none'; frame-ancestors 'none'"
)


class SchemaView(SpectacularAPIView):
    """The OpenAPI document; made once in a process, since it can't change while it runs."""

    renderer_classes = [OpenApiJsonRenderer, OpenApiJsonRenderer2, OpenApiYamlRenderer]
    _document: ClassVar[dict[str, Any] | None] = None

    def _get_schema_response(self, _request: Request) -> Response:
        if SchemaView._document is None:
            generator = self.generator_class(urlconf=self.urlconf, api_version=None, patterns=self.patterns)
            SchemaView._document = generator.get_schema(request=None, public=True)  # type: ignore[no-untyped-call]
        return Response(SchemaView._document)


class DocsView(SpectacularSwaggerSplitView):
    """The documentation's page and its script."""

    @extend_schema(exclude=True)
    def get(self, request: Request, *args: Any, **kwargs: Any) -> Response:
        """Return either, with its policy."""
        response: Response = super().get(request, *args, **kwargs)  # type: ignore[no-untyped-call]
        response.headers["Content-Security-Policy"] = _DOCS_POLICY
        return response


def problem_page(request: HttpRequest, code: str | None = None) -> HttpResponse:
    """Describe one kind of problem, or list them all."""
    if code is not None and code not in PROBLEM_TYPES:
        raise Http404
    shown = list(PROBLEM_TYPES.values()) if code is None else [PROBLEM_TYPES[code]]
    response = render(request, "coaching/problems.html", {"problems": shown, "one": code is not None})
    response.headers["Content-Security-Policy"] = _PAGE_POLICY
    return response
