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
        from coaching.actions.invitations import INVITATION, prepare_invitation_mail
        from coaching.actions.operations import forget_business_files, run_operations
        from coaching.actions.outbox import deliver_due_messages
        from coaching.actions.password_resets import PASSWORD_RESET, prepare_reset_mail, queue_reset_mails
        from coaching.actions.passwords import PASSWORD_CHANGED, prepare_changed_mail
        from coaching.actions.refused_sign_ins import tell_refused_sign_ins
        from coaching.actions.retention import delete_what_is_over
        from coaching.actions.second_factors import reseal_second_factors
        from coaching.selectors.due_work import (
            list_active_business_ids,
            list_businesses_with_due_messages,
            list_businesses_with_due_operations,
            list_one_business,
        )
        from coaching.selectors.password_resets import list_businesses_with_waiting_resets
        from coaching.selectors.sign_in_attempts import list_business_to_tell_for

        registry.dispatch_jobs += [
            registry.Job("queue_reset_mails", list_businesses_with_waiting_resets, queue_reset_mails),
            registry.Job("deliver_messages", list_businesses_with_due_messages, deliver_due_messages),
        ]
        registry.export_jobs.append(registry.Job("run_operations", list_businesses_with_due_operations, run_operations))
        registry.on_client_erased.append(forget_business_files)
        after, kind = registry.EMAIL_RETRY_AFTER, registry.MessageKind
        registry.message_kinds |= {
            INVITATION: kind(prepare_invitation_mail, after, holds_secret=True),
            PASSWORD_RESET: kind(prepare_reset_mail, after, holds_secret=True),
            PASSWORD_CHANGED: kind(prepare_changed_mail, after),
        }
        registry.tick_jobs.append(
            registry.Job("tell_refused_sign_ins", list_business_to_tell_for, tell_refused_sign_ins)
        )
        registry.reconcile_jobs += [
            registry.Job("purge_answers", list_active_business_ids, purge_expired_answers),
            registry.Job("reseal_second_factors", list_one_business, reseal_second_factors),
        ]
        registry.reconcile_jobs.append(
            registry.Job("delete_what_is_over", list_active_business_ids, delete_what_is_over)
        )
        connection_created.connect(refuse_unbound_role, dispatch_uid="coaching.service_role")
