"""The base of every API view: operation, query, versions, retries and pages, each in its one place."""

from collections.abc import Callable, Mapping, Sequence
from typing import Any, ClassVar, Final

from django.http import HttpRequest
from django.http.response import HttpResponseBase
from django.utils import timezone
from rest_framework.request import Request
from rest_framework.response import Response
from rest_framework.serializers import BaseSerializer
from rest_framework.views import APIView

from coaching.actions.audit_trail import Origin, record_operation
from coaching.actions.row_versions import Versions
from coaching.http.addresses import client_address
from coaching.http.content_types import check_content_type
from coaching.http.etags import etag_of, required_versions
from coaching.http.idempotency import Claim, claim_key
from coaching.http.pagination import Keyset, Page
from coaching.http.query_parameters import CURSOR, LIMIT, QueryParameter, read_query
from coaching.http.request_id import request_id_of
from coaching.policy import Principal

_BODIES: Final = frozenset({"POST", "PUT", "PATCH", "DELETE"})


class OperationView(APIView):
    """An API view whose methods are operations of `coaching.policy`.

    Attributes:
        operations: the operation of each method; methods without one are 405.
        query_parameters: what each method takes in its query; anything else is refused.
        lists: the methods that answer pages; they also take `cursor` and `limit`.
        takes_idempotency_key: false where the answer of a POST shows a secret.
        query: the query's values, read.
    """

    operations: ClassVar[Mapping[str, str]] = {}
    query_parameters: ClassVar[Mapping[str, Sequence[QueryParameter]]] = {}
    lists: ClassVar[frozenset[str]] = frozenset()
    takes_idempotency_key: ClassVar[bool] = True

    query: dict[str, Any]
    kept_answer: tuple[int, bytes] | None = None
    _sent: Mapping[str, Any] | None = None

    @property
    def operation(self) -> str | None:
        """The operation of the present method."""
        return self.operations.get(_method(self.request.method))

    @property
    def principal(self) -> Principal:
        """Who is calling; only of operations that need someone."""
        principal: Principal = getattr(self.request, "principal")  # noqa: B009 -- set by BusinessMiddleware, unknown to DRF's types
        return principal

    @property
    def allowed_methods(self) -> list[str]:
        """What the `Allow` header lists."""
        return sorted(self.operations)

    @classmethod
    def parameters_of(cls, method: str) -> tuple[QueryParameter, ...]:
        """Return the query parameters of a method."""
        paging = (CURSOR, LIMIT) if method in cls.lists else ()
        return (*cls.query_parameters.get(method, ()), *paging)

    def dispatch(self, request: HttpRequest, *args: Any, **kwargs: Any) -> HttpResponseBase:
        """Answer a request; a 2xx under an Idempotency-Key is kept with what it changed."""
        self.args, self.kwargs = args, kwargs
        wrapped = self.initialize_request(request, *args, **kwargs)
        self.request, self.headers = wrapped, self.default_response_headers
        claim: Claim | None = None
        try:
            self.initial(wrapped, *args, **kwargs)
            claim = self._claim(request)
            replay = claim.replay if claim else None
            response: Any = replay if replay is not None else self._done(wrapped, request)
        except Exception as error:  # noqa: BLE001 -- the one handler of refusals decides
            response = self.handle_exception(error)
        answer: Any = self.finalize_response(wrapped, response, *args, **kwargs)
        self.response = answer
        if claim is not None:
            _render(answer)
            claim.keep(answer, kept=self.kept_answer)
        return answer  # type: ignore[no-any-return]  # DRF's finalize_response takes and gives either

    def initial(self, request: Request, *args: Any, **kwargs: Any) -> None:
        """Check the form asked for, the caller and the query, and read the body within its limit."""
        if self.operation is None:
            self.http_method_not_allowed(request)
        super().initial(request, *args, **kwargs)
        self.query = read_query(request.GET, self.parameters_of(_method(request.method)))
        if request.method in _BODIES:
            # Reads the whole, too: DRF would read the stream past Django's limit.
            check_content_type(request._request, self.get_parsers())  # noqa: SLF001 -- Django's own request, unparsed

    def _done(self, request: Request, plain: HttpRequest) -> Any:
        """Do it, and write down that it was done: both in the request's transaction."""
        response = self._handler(request)(request, *self.args, **self.kwargs)
        principal = getattr(plain, "principal", None)
        if request.method in _BODIES and principal is not None and self.operation is not None:
            record_operation(
                actor=principal,
                operation=self.operation,
                origin=Origin(client_address(plain), request_id_of(plain)),
                now=timezone.now(),
                object_id=_object_of(self.kwargs, response),
                sent=self._sent,
            )
        return response

    def _handler(self, request: Request) -> Callable[..., Any]:
        handler: Callable[..., Any] = getattr(self, _method(request.method).lower())
        return handler

    def _claim(self, request: HttpRequest) -> Claim | None:
        if request.method != "POST":
            return None
        principal = getattr(request, "principal", None)
        return claim_key(request, principal, accepted=self.takes_idempotency_key)

    def body(self, serializer_class: type[BaseSerializer[Any]], **options: Any) -> Any:
        """Return the body as the serializer validates it.

        Raises:
            ValidationError: with every fault.
        """
        if isinstance(self.request.data, Mapping):
            self._sent = self.request.data
        serializer = serializer_class(data=self.request.data, **options)
        serializer.is_valid(raise_exception=True)
        return serializer.validated_data

    def document(self) -> dict[str, Any]:
        """Return the body as it came, for an action that checks it whole and refuses fields that it doesn't know."""
        self._sent = self.request.data
        return dict(self.request.data)

    def versions(self) -> Versions:
        """Return what `If-Match` admits: for PATCH, PUT and DELETE of single objects.

        Raises:
            PreconditionRequired: the header is missing.
        """
        return required_versions(self.request)

    def single(self, data: Any, row_version: int, *, status: int = 200, location: str | None = None) -> Response:
        """Answer with one object and its ETag."""
        headers = {"ETag": etag_of(row_version)}
        if location is not None:
            headers["Location"] = location
        return Response(data, status=status, headers=headers)

    def page(self, rows: Any, *, order: tuple[str, ...], show: Callable[[list[Any]], Any]) -> Response:
        """Answer with a page of rows.

        Args:
            rows: a queryset of model rows or of `.values()`, already what the caller may see.
            order: the total order, such as `("name", "id")` or `("-created_at", "-id")`.
            show: makes the items of the page's rows, all at once.
        """
        return _paged(self._keyset(order).page(self.request, rows, **self._place()), show)

    def computed_page(
        self, rows: Sequence[Any], *, order: tuple[str, ...], show: Callable[[list[Any]], Any], **beside: Any
    ) -> Response:
        """Answer with a page of rows that are computed, not stored.

        Args:
            rows: all rows of the list, in any order.
            order: attributes of a row, all rising, the last one unique.
            show: makes the items of the page's rows, all at once.
            beside: further members of the answer.
        """
        return _paged(self._keyset(order).page_of_computed(self.request, rows, **self._place()), show, **beside)

    def _keyset(self, order: tuple[str, ...]) -> Keyset:
        return Keyset(order, salt=f"cursor:{self.operation}:{self.principal.business_id}")

    def _place(self) -> dict[str, Any]:
        return {"cursor": self.query["cursor"], "limit": self.query["limit"]}


def _paged(page: Page, show: Callable[[list[Any]], Any], **beside: Any) -> Response:
    response = Response({"items": show(page.rows), "next": page.next_url, **beside})
    if page.next_url is not None:
        response.headers["Link"] = f'<{page.next_url}>; rel="next"'
    return response


def _object_of(named: Mapping[str, Any], response: Any) -> str:
    """Return the object of the path, the innermost where it names several, or the one just made."""
    if named:
        return str(list(named.values())[-1])
    made = getattr(response, "data", None)
    return str(made["id"]) if isinstance(made, Mapping) and "id" in made else ""


def _method(method: str | None) -> str:
    return "GET" if method == "HEAD" else method or ""


def _render(response: Any) -> None:
    if hasattr(response, "render") and not response.is_rendered:
        response.render()
