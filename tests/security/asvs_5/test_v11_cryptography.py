"""V11 Cryptography."""

import ast
import re

from django.conf import settings
from django.contrib.auth.hashers import Argon2PasswordHasher

from tests.processes import ROOT
from tests.scenario import Cast

SOURCES = [file for folder in ("coaching", "programs", "logs") for file in (ROOT / folder).rglob("*.py")]


def test_passwords_are_argon2_and_nothing_else() -> None:
    """11.4.2 argon2id of at least 19 MiB and 2 passes, the least that is recommended; this run's own is weaker."""
    text = (ROOT / "coaching/config/settings.py").read_text()
    assert 'PASSWORD_HASHERS = ["django.contrib.auth.hashers.Argon2PasswordHasher"]' in text
    hasher = Argon2PasswordHasher()
    assert (hasher.memory_cost >= 19 * 1024, hasher.time_cost >= 2) == (True, True)
    assert hasher.encode("x", hasher.salt()).startswith("argon2$argon2id$")
    assert all("argon2" in hasher.lower() for hasher in settings.PASSWORD_HASHERS)


def test_no_weak_digest_or_cipher_is_named() -> None:
    """11.3.1, 11.3.2, 11.4.1 SHA-256 and Fernet; no MD5, SHA-1, ECB or home-made cipher anywhere."""
    weak = re.compile(r"\b(md5|sha1|MODE_ECB|ECB\(|Cipher\(|DES\b|ARC4|RC4)")
    assert {str(file): found for file in SOURCES if (found := weak.findall(file.read_text()))} == {}


def test_secrets_are_drawn_by_the_systems_generator() -> None:
    """11.5.1 Nobody imports `random` for a secret: where it is imported it shuffles demonstrations and simulations."""
    drawn = [
        str(file.relative_to(ROOT))
        for file in SOURCES
        for node in ast.walk(ast.parse(file.read_text()))
        if (isinstance(node, ast.Import) and "random" in [alias.name for alias in node.names])
        or (isinstance(node, ast.ImportFrom) and node.module == "random")
    ]
    assert not [name for name in drawn if "demo" not in name and "analysis" not in name and "prescription" not in name]


def test_the_secret_of_a_key_is_compared_in_constant_time() -> None:
    """11.2.4 `hmac.compare_digest`, on unknown prefixes too."""
    text = (ROOT / "coaching/http/authentication.py").read_text()
    assert "compare_digest(" in text
    assert not re.search(r"digest\s*==|==\s*digest", text)


def test_a_keys_secret_has_256_random_bits(cast: Cast) -> None:
    """6.5.2 So a fast digest of it is enough."""
    made = cast.api(cast.owner).post("/api/v1/api-keys", {"name": "K", "scopes": ["logs:read"]}, format="json").json()
    assert len(made["key"].split("_", 2)[2]) == 43
