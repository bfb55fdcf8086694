"""Digests that named a client whose alerts are gone by now."""

from datetime import timedelta

import time_machine
from django.utils import timezone

from coaching.actions.erasures import erase_rows
from coaching.actions.outbox import deliver_due_messages
from coaching.actions.retention import delete_what_is_over
from coaching.models import Client, OutboxMessage, RetentionPolicy
from coaching.tenancy.scope import business_scope
from logs.actions.alerts import detect_missed
from logs.actions.digests import make_digests
from logs.models import MissedAlert
from tests.architecture.world import AFTER, build_world
from tests.scenario import Cast
from tests.smtp_server import SmtpSink


def test_a_digest_is_emptied_though_its_alerts_went_with_the_logs_of_a_client_who_ended(
    cast: Cast, smtp: SmtpSink
) -> None:
    with time_machine.travel(AFTER, tick=False):
        build_world(cast)
        with business_scope(cast.business_id):
            Client.objects.filter(id=cast.anna.id).update(name="Quokkaberry")
        detect_missed(cast.business_id, AFTER + timedelta(days=1))
        make_digests(cast.business_id, AFTER + timedelta(days=2))
        while deliver_due_messages(cast.business_id, AFTER + timedelta(days=2)):
            pass
    with business_scope(cast.business_id):
        Client.objects.filter(id=cast.anna.id).update(state="ended", ended_at=AFTER)
        RetentionPolicy.objects.update_or_create(defaults={"ended_client_months": 1})
    while delete_what_is_over(cast.business_id, AFTER + timedelta(days=40)):
        pass
    with business_scope(cast.business_id):
        assert not MissedAlert.objects.filter(client_id=cast.anna.id).exists()
        assert "Quokkaberry" in str(list(OutboxMessage.objects.values_list("rendered", flat=True)))
        erase_rows(client_id=cast.anna.id, erased_by=None, now=timezone.now())
        assert "Quokkaberry" not in str(list(OutboxMessage.objects.values_list("rendered", flat=True)))
