"""`/planned-sessions/{id}/card`: one session in three forms, by `Accept`."""

from collections.abc import Mapping
from typing import Any, Final
from uuid import UUID

from drf_spectacular.types import OpenApiTypes
from drf_spectacular.utils import extend_schema
from rest_framework.negotiation import BaseContentNegotiation
from rest_framework.renderers import BaseRenderer
from rest_framework.request import Request
from rest_framework.response import Response

from coaching.http.etags import etag_of
from coaching.http.problem_documents import Problem
from coaching.http.query_parameters import QueryParameter
from coaching.http.renderers import OrjsonRenderer
from coaching.http.views import OperationView
from programs.api.serializers.cards import SessionCardSerializer, show_card
from programs.documents.card_dates import file_name
from programs.documents.card_page import card_page
from programs.documents.card_sheet import SheetPaper, card_sheet
from programs.documents.session_card import SessionCard, session_card
from programs.selectors.cards import get_card_facts

_PAPERS: Final = ("a4", "letter", "phone")


class _Written(BaseRenderer):
    """Hands on what a document's own writer has made."""

    def render(
        self, data: Any, _media_type: str | None = None, _context: Mapping[str, Any] | None = None
    ) -> bytes | str:
        """Return the document as it is."""
        written: bytes | str = data
        return written


class PageRenderer(_Written):
    """A page."""

    media_type = "text/html"
    format = "html"
    charset = "utf-8"


class SheetRenderer(_Written):
    """A sheet."""

    media_type = "application/pdf"
    format = "pdf"
    charset = None
    render_style = "binary"


class FormNegotiation(BaseContentNegotiation):
    """Chooses by `Accept` with its weights, which Django REST framework's own choice passes over."""

    def select_parser(self, request: Request, parsers: Any) -> Any:
        """Return the only parser there is."""
        return parsers[0]

    def select_renderer(self, request: Request, renderers: Any, format_suffix: str | None = None) -> Any:
        """Return the form that the caller likes best; JSON where they have no wish.

        Raises:
            Problem: none of the forms is accepted.
        """
        by_type = {renderer.media_type: renderer for renderer in renderers}
        chosen = request._request.get_preferred_type(list(by_type))  # noqa: SLF001 -- the request that DRF wraps
        if chosen is None:
            raise Problem("not_acceptable", f"A card is {', '.join(by_type)}: set Accept to one of them.")
        return by_type[chosen], chosen


class SessionCardView(OperationView):
    """The card of a planned session."""

    operations = {"GET": "planned_sessions.card"}
    renderer_classes = [OrjsonRenderer, PageRenderer, SheetRenderer]
    content_negotiation_class = FormNegotiation
    query_parameters = {
        "GET": (
            QueryParameter(
                "paper", "The page of a PDF, and what a web page prints on; phone is one long page.", choices=_PAPERS
            ),
        )
    }

    @extend_schema(
        responses={
            (200, "application/json"): SessionCardSerializer,
            (200, "text/html"): OpenApiTypes.STR,
            (200, "application/pdf"): OpenApiTypes.BINARY,
        }
    )
    def get(self, request: Request, planned_session_id: UUID) -> Response:
        """Return the session as its client follows it: as JSON, as a page for a phone, or as PDF for paper."""
        card = session_card(get_card_facts(actor=self.principal, planned_session_id=planned_session_id))
        data, headers = self._form(card, str(request.accepted_media_type))
        return Response(data, headers={"ETag": etag_of(card.row_version), **headers})

    def _form(self, card: SessionCard, media_type: str) -> tuple[Any, dict[str, str]]:
        paper: SheetPaper = self.query["paper"] or "a4"
        if media_type == PageRenderer.media_type:
            page = card_page(card, "letter" if paper == "letter" else "a4")
            return page.html, {"Content-Security-Policy": page.policy}
        if media_type == SheetRenderer.media_type:
            return card_sheet(card, paper), {"Content-Disposition": f'inline; filename="{file_name(card)}"'}
        return show_card(card), {}
