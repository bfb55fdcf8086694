"""The app's registration with Django."""

from django.apps import AppConfig


class LogsConfig(AppConfig):
    """Registers `logs`."""

    name = "logs"

    def ready(self) -> None:
        """Name what `logs` does in the background, and which messages it queues."""
        from coaching import registry
        from coaching.selectors.due_work import list_active_business_ids, list_businesses_with_stale_weeks
        from logs.actions.alerts import detect_missed, follow_planned_sessions
        from logs.actions.calendar_matching import follow_session_days
        from logs.actions.client_notes import MISSED_NOTE, prepare_client_note
        from logs.actions.digests import ALERT_DIGEST, make_digests, prepare_digest
        from logs.actions.erasures import forget_files, forget_problems
        from logs.actions.exercise_merges import follow_exercises, follow_merge
        from logs.actions.flags import flags_of_the_day
        from logs.actions.log_imports import expire_log_imports
        from logs.actions.reconciliation import expire_held_items, reconcile_alerts
        from logs.actions.retention import delete_what_is_over
        from logs.actions.weekly_progress import follow_business_policy, refresh_weeks
        from logs.selectors.alerts import list_businesses_with_open_alerts
        from programs.selectors.due_sessions import list_businesses_with_due_sessions

        registry.on_planned_sessions_changed.append(follow_planned_sessions)
        registry.on_session_days_changed.append(follow_session_days)
        registry.on_business_policy_changed.append(follow_business_policy)
        registry.before_client_erased.append(forget_files)
        registry.on_client_erased.append(forget_problems)
        registry.retention_jobs.append(delete_what_is_over)
        registry.on_exercises_merged.append(follow_merge)
        registry.on_exercises_changed.append(follow_exercises)
        registry.dispatch_jobs.append(registry.Job("refresh_weeks", list_businesses_with_stale_weeks, refresh_weeks))
        registry.tick_jobs += [
            registry.Job("detect_missed", list_businesses_with_due_sessions, detect_missed),
            registry.Job("make_digests", list_businesses_with_open_alerts, make_digests),
            registry.Job("flags_of_the_day", list_active_business_ids, flags_of_the_day),
        ]
        registry.reconcile_jobs += [
            registry.Job("reconcile_alerts", list_active_business_ids, reconcile_alerts),
            registry.Job("expire_held_items", list_active_business_ids, expire_held_items),
            registry.Job("expire_log_imports", list_active_business_ids, expire_log_imports),
        ]
        registry.message_kinds |= {
            ALERT_DIGEST: registry.MessageKind(prepare_digest, registry.EMAIL_RETRY_AFTER),
            MISSED_NOTE: registry.MessageKind(prepare_client_note, registry.EMAIL_RETRY_AFTER),
        }
