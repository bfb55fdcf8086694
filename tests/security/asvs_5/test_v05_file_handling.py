"""V5 File handling: the one upload is a table of logs, the one download a card."""

import re

from tests.scenario import Cast
from tests.security.operations import CALLED, attack

HOSTILE = 'a"; filename="evil.exe"\r\nX-Evil: 1/../..\\x\u202e'


def test_the_name_of_a_file_is_the_services_own(cast: Cast, world: dict[str, str]) -> None:
    """5.4.1, 5.4.2 A download's name is made here; what a name says ends no header and climbs no folder."""
    api = cast.api(cast.owner)
    name = HOSTILE.replace("\r\n", " ")
    renamed = api.patch(f"/api/v1/clients/{world['client_id']}", {"name": name}, format="json", HTTP_IF_MATCH="*")
    assert renamed.status_code == 200, renamed.content
    call = CALLED["planned_sessions.card"]
    paper = attack(api, call, world, query="filename=evil.exe", headers={"Accept": "application/pdf"})
    assert paper.status_code == 400
    paper = attack(api, call, world, headers={"Accept": "application/pdf"})
    disposition = paper.headers["Content-Disposition"]
    assert re.fullmatch(r'(inline|attachment); filename="[A-Za-z0-9][A-Za-z0-9._-]*\.pdf"', disposition), disposition
    assert "X-Evil" not in paper.headers
