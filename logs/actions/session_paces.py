"""Tell `programs` how long clients take beside what is planned."""

from collections.abc import Collection
from uuid import UUID

from logs.analysis.session_pace import session_pace
from logs.selectors.session_pace_facts import session_pace_facts
from programs.actions.session_paces import store_session_paces


def push_session_paces(*, client_ids: Collection[UUID]) -> None:
    """Find the clients' paces anew and hand them on, in three statements at most for any number of clients.

    Every log that comes late, is corrected or deleted makes its week stale; the refresh of stale weeks calls this.
    """
    facts = session_pace_facts(client_ids=client_ids)
    store_session_paces({client_id: session_pace(performances) for client_id, performances in facts.items()})
