"""The app's registration with Django."""

from django.apps import AppConfig
from django.db.backends.signals import connection_created

from coaching.tenancy.service_role import refuse_unbound_role


class CoachingConfig(AppConfig):
    """Registers the kernel and the deliveries that every app queues."""

    name = "coaching"

    def ready(self) -> None:
        """Name what the kernel itself does in the background."""
        from coaching import registry
        from coaching.actions.expiry import purge_expired_answers
        from coaching.actions.outbox import deliver_due_messages
        from coaching.selectors.due_work import list_active_business_ids, list_businesses_with_due_messages

        registry.dispatch_jobs.append(
            registry.Job("deliver_messages", list_businesses_with_due_messages, deliver_due_messages)
        )
        registry.reconcile_jobs.append(registry.Job("purge_answers", list_active_business_ids, purge_expired_answers))
        connection_created.connect(refuse_unbound_role, dispatch_uid="coaching.service_role")
