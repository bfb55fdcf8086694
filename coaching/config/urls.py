"""The composition of the service's paths; names the apps only as strings."""

from django.urls import include, path, re_path

from coaching.http.account_pages import invitation_page, password_reset_page
from coaching.http.health import detection, healthz, readyz
from coaching.http.pages import DocsView, SchemaView, problem_page

handler400 = "coaching.http.problems.refuse_bad_request"
handler403 = "coaching.http.problems.refuse_forbidden"
handler404 = "coaching.http.problems.refuse_unknown_path"
handler500 = "coaching.http.problems.refuse_with_fault"

urlpatterns = [
    path(
        "api/v1/",
        include(
            [
                path("", include("coaching.api.urls")),
                path("", include("programs.api.urls")),
                path("", include("logs.api.urls")),
            ]
        ),
    ),
    re_path(r"^api/v1/schema/?$", SchemaView.as_view(), name="schema"),
    # What mails link to; the token in the address belongs in no log.
    re_path(r"^account/invitations/(?P<token>[A-Za-z0-9_:.-]{1,600})/?$", invitation_page, name="invitation"),
    re_path(
        r"^account/password-resets/(?P<token>[A-Za-z0-9_:.-]{1,600})/?$", password_reset_page, name="password_reset"
    ),
    re_path(r"^docs/?$", DocsView.as_view(url_name="schema"), name="docs"),
    re_path(r"^docs/problems/?$", problem_page, name="problems"),
    re_path(r"^docs/problems/(?P<code>[a-z_]+)/?$", problem_page, name="problem"),
    re_path(r"^healthz/?$", healthz, name="healthz"),
    re_path(r"^healthz/detection/?$", detection, name="detection"),
    re_path(r"^readyz/?$", readyz, name="readyz"),
]
