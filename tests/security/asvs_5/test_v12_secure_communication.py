"""V12 Secure communication. TLS itself ends at the operator's proxy; what the service does about it is here."""

import os
import socketserver
import ssl
import subprocess
import sys
import threading
from collections.abc import Iterator
from contextlib import contextmanager
from datetime import timedelta
from pathlib import Path

from cryptography import x509
from cryptography.hazmat.primitives import hashes, serialization
from cryptography.hazmat.primitives.asymmetric import ec
from cryptography.x509.oid import NameOID
from django.utils import timezone

from tests.processes import ROOT
from tests.security.owasp_api_2023.test_api08_security_misconfiguration import PRODUCTION


def _refused(**changes: str) -> str:
    done = subprocess.run(
        [sys.executable, "-c", "import coaching.config.settings"],
        check=False,
        cwd=ROOT,
        env={**os.environ, **PRODUCTION, **changes},
        capture_output=True,
        text=True,
    )
    assert done.returncode != 0
    return done.stderr


def test_production_does_not_start_on_an_address_without_tls() -> None:
    """12.2.1 The address that callers use is https, and mail servers elsewhere are spoken to under TLS, or it stops."""
    assert "PUBLIC_URL" in _refused(PUBLIC_URL="http://coaching.example")
    assert "EMAIL_URL" in _refused(EMAIL_URL="smtp://mail.example:25")


@contextmanager
def _impostor(folder: Path) -> Iterator[int]:
    """A TLS server on this machine whose certificate nobody vouches for."""
    key = ec.generate_private_key(ec.SECP256R1())
    name = x509.Name([x509.NameAttribute(NameOID.COMMON_NAME, "localhost")])
    now = timezone.now()
    certificate = (
        x509.CertificateBuilder()
        .subject_name(name)
        .issuer_name(name)
        .public_key(key.public_key())
        .serial_number(1)
        .not_valid_before(now - timedelta(days=1))
        .not_valid_after(now + timedelta(days=1))
        .add_extension(x509.SubjectAlternativeName([x509.DNSName("localhost")]), critical=False)
        .sign(key, hashes.SHA256())
    )
    (folder / "c.pem").write_bytes(certificate.public_bytes(serialization.Encoding.PEM))
    (folder / "k.pem").write_bytes(
        key.private_bytes(serialization.Encoding.PEM, serialization.PrivateFormat.PKCS8, serialization.NoEncryption())
    )
    context = ssl.SSLContext(ssl.PROTOCOL_TLS_SERVER)
    context.load_cert_chain(folder / "c.pem", folder / "k.pem")

    class Refuser(socketserver.BaseRequestHandler):
        def handle(self) -> None:
            try:
                context.wrap_socket(self.request, server_side=True)
            except (ssl.SSLError, OSError):
                return

    with socketserver.TCPServer(("127.0.0.1", 0), Refuser) as server:
        threading.Thread(target=server.serve_forever, daemon=True).start()
        try:
            yield server.server_address[1]
        finally:
            server.shutdown()


def test_a_mail_server_whose_certificate_nobody_vouches_for_gets_no_mail(tmp_path: Path) -> None:
    """12.3.2 The certificate of the server is checked before anything is said to it."""
    from django.core.mail import EmailMessage, get_connection

    with _impostor(tmp_path) as port:
        backend = "django.core.mail.backends.smtp.EmailBackend"
        connection = get_connection(backend, host="localhost", port=port, use_ssl=True, use_tls=False)
        try:
            EmailMessage("x", "x", "a@x.example", ["b@x.example"], connection=connection).send()
        except ssl.SSLCertVerificationError:
            return
    raise AssertionError("A forged certificate was taken.")
