"""The OpenAPI document: operation names, callers, query parameters and problems, from the tables that rule them."""

from typing import Any, Final, cast

from drf_spectacular.extensions import OpenApiAuthenticationExtension
from drf_spectacular.openapi import AutoSchema
from drf_spectacular.plumbing import build_parameter_type
from drf_spectacular.utils import inline_serializer
from rest_framework import serializers

from coaching.http.authentication import PrincipalAuthentication
from coaching.http.problem_documents import PROBLEM_MEDIA_TYPE
from coaching.http.problem_types import PROBLEM_TYPES
from coaching.http.query_parameters import QueryParameter
from coaching.policy import OPERATIONS, Operation

_SCHEMAS: Final[dict[str, dict[str, Any]]] = {
    "text": {"type": "string"},
    "uuid": {"type": "string", "format": "uuid"},
    "date": {"type": "string", "format": "date"},
    "integer": {"type": "integer"},
    "boolean": {"type": "boolean"},
}
SESSION: Final = "session"
API_KEY: Final = "api_key"
_METHODS: Final = ("get", "post", "put", "patch", "delete")
_CHANGES: Final = ("put", "patch", "delete")


def page_of(serializer: type[serializers.BaseSerializer[Any]]) -> Any:
    """Return the documented shape of a page of items."""
    name = serializer.__name__.removesuffix("Serializer")
    return inline_serializer(
        name=f"{name}Page",
        fields={"items": serializer(many=True), "next": serializers.URLField(allow_null=True)},
    )


class OperationSchema(AutoSchema):
    """Documents an `OperationView`."""

    @property
    def _operation(self) -> str | None:
        return cast("str | None", getattr(self.view, "operations", {}).get(self.method))

    @property
    def _entry(self) -> Operation | None:
        return OPERATIONS.get(self._operation or "")

    def get_operation_id(self) -> str:
        """Return the operation's name in the policy, as one word."""
        return self._operation.replace(".", "_") if self._operation else str(super().get_operation_id())

    def get_tags(self) -> list[str]:
        """Return the resource."""
        return [self._operation.split(".")[0]] if self._operation else list(super().get_tags())

    def get_description(self) -> str:  # type: ignore[override]  # as the library's own
        """Return the method's words, and who may call it."""
        described = str(super().get_description() or "")
        return f"{described}\n\n{_callers(self._entry)}".strip() if self._entry else described

    def get_auth(self) -> list[dict[str, list[str]]]:
        """Return the kinds of credential that can work: any one of them does; none where anyone may call."""
        # It also writes the schemes into the document.
        found = cast("list[dict[str, list[str]]]", super().get_auth())
        if self._entry is None:
            return found
        kinds = ((SESSION, self._entry.roles), (API_KEY, self._entry.scopes))
        return [{kind: []} for kind, whose in kinds if whose and not self._entry.anyone]

    def get_operation(self, *arguments: Any) -> dict[str, Any] | None:
        """Return the operation, with its callers for programs beside those in words."""
        found = super().get_operation(*arguments)
        if found is not None and self._entry is not None and not self._entry.anyone:
            found["x-roles"] = sorted(self._entry.roles)
            found["x-scopes"] = sorted(self._entry.scopes)
        return found

    def _get_request_body(self, direction: Any = "request") -> Any:
        body = super()._get_request_body(direction)  # type: ignore[no-untyped-call]  # the library's
        if body and self.method == "PATCH":
            # Nothing sent changes nothing.
            body.pop("required", None)
        return body

    def _is_list_view(self, _serializer: Any = None) -> bool:
        return False

    def _get_parameters(self) -> list[Any]:
        parameters = list(super()._get_parameters())
        declared = self.view.parameters_of(self.method) if hasattr(self.view, "parameters_of") else ()
        return parameters + [_documented(parameter) for parameter in declared] + self._headers()

    def _headers(self) -> list[Any]:
        if self.method == "POST" and getattr(self.view, "takes_idempotency_key", False):
            return [
                _header(
                    "Idempotency-Key",
                    "The same key and body replays the stored answer; kept 48 hours, for this credential.",
                    required=False,
                )
            ]
        if self.method.lower() in _CHANGES and getattr(self.view, "versioned", True) and self._operation:
            return [_header("If-Match", "The ETag of the object as you last read it.", required=True)]
        return []


def _callers(entry: Operation | None) -> str:
    if entry is None:
        return ""
    if entry.anyone:
        return "Anyone may call it."
    roles = ", ".join(sorted(role.value for role in entry.roles))
    scopes = ", ".join(f"`{scope.value}`" for scope in sorted(entry.scopes))
    return f"Roles: {roles or 'none'}. Scopes of keys: {scopes or 'none'}."


def _documented(parameter: QueryParameter) -> Any:
    schema: dict[str, Any] = dict(_SCHEMAS[parameter.kind])
    bounds = {"minimum": parameter.minimum, "maximum": parameter.maximum, "default": parameter.default}
    if parameter.kind == "integer":
        schema |= {name: value for name, value in bounds.items() if value is not None}
    if parameter.choices:
        schema["enum"] = list(parameter.choices)
    if parameter.many:
        schema = {"type": "array", "items": schema}
    documented = build_parameter_type(
        name=parameter.name,
        schema=schema,
        location="query",
        required=parameter.required,
        description=parameter.description,
    )
    if parameter.many:
        documented |= {"style": "form", "explode": False}
    return documented


def _header(name: str, description: str, *, required: bool) -> Any:
    return build_parameter_type(
        name=name, schema={"type": "string"}, location="header", required=required, description=description
    )


_PROBLEM: Final[dict[str, Any]] = {
    "type": "object",
    "description": "RFC 9457 problem details: what was refused, why, and what to change.",
    "required": ["type", "title", "status", "detail", "code", "errors", "request_id"],
    "properties": {
        "type": {
            "type": "string",
            "description": "A stable path under /docs/problems/, or what a standard registered.",
        },
        "title": {"type": "string"},
        "status": {"type": "integer"},
        "detail": {"type": "string", "description": "A sentence that says what to change."},
        "code": {"type": "string", "description": "The particular refusal, for programs."},
        "errors": {
            "type": "array",
            "items": {
                "type": "object",
                "required": ["pointer", "code", "detail"],
                "properties": {
                    "pointer": {"type": "string", "description": "`#/set_logs/3/load_kg`, or `?limit` in the query."},
                    "code": {"type": "string"},
                    "detail": {"type": "string"},
                },
            },
        },
        "request_id": {"type": "string"},
        "violated-policies": {
            "type": "array",
            "items": {"type": "string"},
            "description": "Of a quota that is used up: its name in RateLimit-Policy.",
        },
    },
}


def document_problems(result: dict[str, Any], **_options: Any) -> dict[str, Any]:
    """Attach the one problem component to every operation, for each status that it may answer."""
    result.setdefault("components", {}).setdefault("schemas", {})["Problem"] = _PROBLEM
    for path, methods in result.get("paths", {}).items():
        for method, operation in methods.items():
            if method in _METHODS:
                _attach(operation, _statuses(path, method, operation))
    return result


def _attach(operation: dict[str, Any], statuses: set[int]) -> None:
    content = {PROBLEM_MEDIA_TYPE: {"schema": {"$ref": "#/components/schemas/Problem"}}}
    for status in sorted(statuses):
        titles = [kind.title for kind in PROBLEM_TYPES.values() if kind.status == status]
        operation["responses"].setdefault(str(status), {"description": "; or ".join(titles) + ".", "content": content})


def _statuses(path: str, method: str, operation: dict[str, Any]) -> set[int]:
    headers = {parameter["name"] for parameter in operation.get("parameters", ()) if parameter["in"] == "header"}
    statuses = {400, 401, 405, 406, 429, 500, 503}
    if operation.get("security"):
        statuses.add(403)
    if "{" in path:
        statuses.add(404)
    if method != "get":
        statuses |= {409}
    if path.endswith("/result"):
        statuses |= {409, 410}
    if "requestBody" in operation:
        statuses |= {413, 415}
    if "Idempotency-Key" in headers:
        statuses.add(422)
    if "If-Match" in headers:
        statuses |= {412, 428}
    return statuses


class PrincipalScheme(OpenApiAuthenticationExtension):  # type: ignore[no-untyped-call]  # the library's registering metaclass is untyped
    """Documents the two kinds of bearer credential."""

    target_class = PrincipalAuthentication
    name = [SESSION, API_KEY]

    def get_security_definition(self, _auto_schema: Any) -> list[dict[str, Any]]:
        """Return the schemes, in the order of their names."""
        described = (
            "The token of a session (POST /api/v1/sessions): what it may call goes by the person's role, `x-roles`.",
            "An API key of a business (`cp_…`): it may call what one of its scopes allows, `x-scopes`.",
        )
        return [{"type": "http", "scheme": "bearer", "description": words} for words in described]
