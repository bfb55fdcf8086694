"""V3 Web frontend security: what browsers are told, although the pages are few."""

from django.test import Client as Browser
from django.test import override_settings


def test_a_browser_stays_on_tls_for_a_year(db: None) -> None:
    """3.4.1 Strict-Transport-Security for a year, subdomains included, on every answer of production."""
    with override_settings(
        SECURE_HSTS_SECONDS=31_536_000, SECURE_HSTS_INCLUDE_SUBDOMAINS=True, SECURE_HSTS_PRELOAD=True
    ):
        browser = Browser()
        for path in ("/healthz", "/docs", "/api/v1/me", "/nowhere"):
            told = browser.get(path, secure=True).headers["Strict-Transport-Security"]
            assert "max-age=31536000" in told
            assert "includeSubDomains" in told


def test_every_policy_names_what_it_admits(db: None) -> None:
    """3.4.3 Each answer's policy begins from nothing, so plug-ins are out, and fixes the base of addresses."""
    browser = Browser()
    for path in ("/healthz", "/docs", "/docs/problems", "/api/v1/me", "/api/v1/schema", "/nowhere"):
        policy = browser.get(path).headers["Content-Security-Policy"]
        assert "default-src 'none'" in policy, path
        assert "base-uri 'none'" in policy, path
        assert "script-src 'self' 'unsafe" not in policy, path
        assert "*" not in policy, path


def test_no_cookie_is_set_and_none_signs_in(db: None) -> None:
    """3.5.1 Forged requests of other sites carry no credential: there are no cookies to carry."""
    for path in ("/docs", "/healthz", "/api/v1/me"):
        assert not Browser().get(path).cookies
