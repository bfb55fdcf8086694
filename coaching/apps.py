"""The app's registration with Django."""

from django.apps import AppConfig


class CoachingConfig(AppConfig):
    """Registers the kernel and the deliveries that every app queues."""

    name = "coaching"

    def ready(self) -> None:
        """Name what the kernel itself does in the background."""
        from coaching import registry
        from coaching.actions.outbox import deliver_due_messages
        from coaching.selectors.due_work import list_businesses_with_due_messages

        registry.dispatch_jobs.append(
            registry.Job("deliver_messages", list_businesses_with_due_messages, deliver_due_messages)
        )
