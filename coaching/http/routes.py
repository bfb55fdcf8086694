"""Routes that answer with and without their trailing slash, so that no POST is ever redirected."""

from typing import Any

from django.urls import URLPattern
from django.urls.resolvers import RoutePattern
from rest_framework.views import APIView


class _SlashTolerantRoute(RoutePattern):
    def match(self, path: str) -> tuple[str, tuple[Any, ...], dict[str, Any]] | None:
        found = super().match(path)
        if found is None and path.endswith("/"):
            found = super().match(path.removesuffix("/"))
        return found


def route(path: str, view: type[APIView], *, name: str | None = None, **initial: Any) -> URLPattern:
    """Return the pattern of a path such as `clients/<uuid:client_id>`, written without a trailing slash."""
    return URLPattern(_SlashTolerantRoute(path, name=name, is_endpoint=True), view.as_view(**initial), {}, name)
