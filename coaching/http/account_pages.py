"""The pages that links in mails open: a form each, since scanners of mail open links too; only sending it acts.

They stand outside the API, take no cookie and no credential, run no script, and are kept nowhere. Their address holds
the link's token, so it goes into no log.
"""

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from functools import wraps
from typing import Any, Final

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils import timezone
from django.views.decorators.http import require_http_methods

from coaching.actions.audit_trail import Origin
from coaching.actions.invitation_acceptance import InvitationNotGood, Offer, accept_invitation, read_offer
from coaching.actions.password_resets import LinkNotGood, confirm_password_reset, standing_reset_of
from coaching.documents.account_mail import AS_WHAT
from coaching.http.addresses import client_address
from coaching.http.request_id import request_id_of
from coaching.refusals import Refusal

_POLICY: Final = "default-src 'none'; style-src 'self'; base-uri 'none'; form-action 'self'; frame-ancestors 'none'"
_HEADERS: Final = {
    "Cache-Control": "no-store",
    "Content-Security-Policy": _POLICY,
    "Referrer-Policy": "no-referrer",
    "X-Robots-Tag": "noindex",
}
_MAX_NAME: Final = 200
_MAX_PASSWORD: Final = 128
# A form without fields sends no body, and some senders name no type then.
_FORM_TYPES: Final = ("application/x-www-form-urlencoded", "")
_MAX_BODY: Final = 10_000
_OVER: Final = 410
_REFUSED: Final = 400
_CONFLICT: Final = 409


@dataclass(frozen=True, slots=True)
class _Form:
    """What somebody filled in."""

    name: str = ""
    password: str = ""
    faults: Mapping[str, list[str]] = field(default_factory=dict)


def _bounded(page: Callable[..., HttpResponse]) -> Callable[..., HttpResponse]:
    """Refuse what no form of these sends, unread: files, and bodies larger than any name and password."""

    @wraps(page)
    def answer(request: HttpRequest, token: str) -> HttpResponse:
        sent = request.META.get("CONTENT_LENGTH") or "0"
        is_form = request.content_type in _FORM_TYPES and len(sent) < len(str(_MAX_BODY))
        if request.method == "POST" and not is_form:
            return _page(request, "done", {"title": "This can't be read", "told": "Use the page's own form."}, _REFUSED)
        return page(request, token)

    return answer


@require_http_methods(["GET", "HEAD", "POST"])
@_bounded
def invitation_page(request: HttpRequest, token: str) -> HttpResponse:
    """Show an invitation, and accept it when its form is sent."""
    try:
        offer = read_offer(token=token, now=timezone.now())
    except InvitationNotGood as refusal:
        return _over(request, refusal)
    form = _read(request, repeated=offer.needs_password)
    if request.method != "POST" or form.faults:
        return _invitation(request, offer, form)
    try:
        accepted = accept_invitation(
            token=token,
            name=form.name,
            password=form.password if offer.needs_password else None,
            origin=_origin(request),
            now=timezone.now(),
        )
    except InvitationNotGood as refusal:
        return _over(request, refusal)
    except Refusal as refusal:
        return _invitation(request, offer, _refused(form, refusal))
    told = f"You are in {accepted.business_name} now. Sign in with {offer.email} and your password."
    return _page(request, "done", {"title": "Welcome", "told": told})


@require_http_methods(["GET", "HEAD", "POST"])
@_bounded
def password_reset_page(request: HttpRequest, token: str) -> HttpResponse:
    """Ask for a new password, and set it when the form is sent."""
    try:
        standing_reset_of(token=token, now=timezone.now())
    except LinkNotGood as refusal:
        return _over(request, refusal)
    form = _read(request, repeated=True)
    if request.method != "POST" or form.faults:
        return _page(request, "password_reset", {"form": form}, _status(form))
    try:
        confirm_password_reset(token=token, password=form.password, origin=_origin(request), now=timezone.now())
    except LinkNotGood as refusal:
        return _over(request, refusal)
    except Refusal as refusal:
        form = _refused(form, refusal)
        return _page(request, "password_reset", {"form": form}, _status(form))
    told = "Your new password is set, and whoever was signed in with the old one was signed out. Sign in with it."
    return _page(request, "done", {"title": "Done", "told": told})


def _read(request: HttpRequest, *, repeated: bool) -> _Form:
    if request.method != "POST":
        return _Form()
    name, password = request.POST.get("name", "")[: _MAX_NAME + 1], request.POST.get("password", "")
    checks: tuple[tuple[str, str, Callable[[], bool]], ...] = (
        ("name", f"A name has {_MAX_NAME} characters at most, on one line.", lambda: not _is_name(name)),
        ("password", f"A password has {_MAX_PASSWORD} characters at most.", lambda: len(password) > _MAX_PASSWORD),
        (
            "password",
            "The two passwords are not the same.",
            lambda: repeated and password != request.POST.get("repeated", ""),
        ),
        ("password", "Type a password that this form can take.", lambda: "\0" in password),
    )
    faults: dict[str, list[str]] = {}
    for named, sentence, is_at_fault in checks:
        if is_at_fault():
            faults.setdefault(named, []).append(sentence)
    return _Form(name, password, faults)


def _is_name(name: str) -> bool:
    return len(name) <= _MAX_NAME and name.isprintable()


def _refused(form: _Form, refusal: Refusal) -> _Form:
    faults: dict[str, list[str]] = {}
    for fault in refusal.faults:
        faults.setdefault(fault.pointer.rpartition("/")[2], []).append(fault.detail)
    return _Form(form.name, "", faults or {"form": [refusal.detail]})


def _status(form: _Form) -> int:
    return 200 if not form.faults else _CONFLICT if "form" in form.faults else _REFUSED


def _invitation(request: HttpRequest, offer: Offer, form: _Form) -> HttpResponse:
    context = {"offer": offer, "as_what": AS_WHAT[offer.role], "form": form, "name": form.name or offer.name}
    return _page(request, "invitation", context, _status(form))


def _over(request: HttpRequest, refusal: Refusal) -> HttpResponse:
    return _page(request, "done", {"title": "This link no longer works", "told": refusal.detail}, _OVER)


def _page(request: HttpRequest, template: str, context: dict[str, Any], status: int = 200) -> HttpResponse:
    response = render(request, f"coaching/account/{template}.html", context, status=status)
    for name, value in _HEADERS.items():
        response.headers[name] = value
    return response


def _origin(request: HttpRequest) -> Origin:
    return Origin(client_address(request), request_id_of(request))
