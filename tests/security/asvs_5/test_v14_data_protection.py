"""V14 Data protection."""

import re

from django.apps import apps

from tests.processes import ROOT
from tests.scenario import Cast
from tests.security.operations import CALLED, attack


def test_each_table_stands_in_one_class_of_protection() -> None:
    """14.1.1, 14.1.2 The contributors' guide sorts every table by what it holds, and says what protects each class."""
    told = (ROOT / "DEVELOPERS.md").read_text().split("## Data, by how it is protected")[1].split("\n## ")[0]
    rows = [line.split("|")[1:4] for line in told.splitlines() if line.startswith("| ")][1:]
    assert [name.strip() for name, _tables, _protection in rows] == [
        "secret",
        "health",
        "personal",
        "business",
        "trace",
    ]
    assert all(protection.strip() for _name, _tables, protection in rows)
    sorted_tables = [table for _name, tables, _protection in rows for table in re.findall(r"`(\w+)`", tables)]
    own = [apps.get_app_config(label) for label in ("coaching", "programs", "logs")]
    assert sorted(sorted_tables) == sorted(model.__name__ for app in own for model in app.get_models())


def test_no_secret_travels_in_an_address(cast: Cast) -> None:
    """14.2.1 A credential in the address is refused with a sentence, and no operation takes a secret in its query."""
    api = cast.api(cast.owner)
    for name in ("api_key", "access_token", "token"):
        assert api.get(f"/api/v1/me?{name}=cp_abcdefgh_x").json()["code"] == "credential_in_url"
    from tests.security.operations import PARAMETERS

    words = {name for names in PARAMETERS.values() for name in names}
    assert not [name for name in words if any(word in name for word in ("password", "secret", "token", "email", "key"))]


def test_no_answer_that_needs_a_credential_is_kept_by_a_cache(cast: Cast, world: dict[str, str]) -> None:
    """14.3.2 `Cache-Control: no-store` on all of them; a card's own page may be kept by its reader's browser alone."""
    api = cast.api(cast.client_member)
    for operation, call in CALLED.items():
        told = attack(api, call, world).headers["Cache-Control"]
        assert "no-store" in told or "private" in told, (operation, told)
        assert "public" not in told, operation
