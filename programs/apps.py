"""The app's registration with Django."""

from django.apps import AppConfig


class ProgramsConfig(AppConfig):
    """Registers the catalogue's copy and the calendar's following of a client's zone."""

    name = "programs"

    def ready(self) -> None:
        """Name what the kernel calls in this app."""
        from coaching import registry
        from programs.actions.catalogue import copy_catalogue
        from programs.actions.planned_sessions import follow_client_zone

        registry.on_business_created.append(copy_catalogue)
        registry.on_client_zone_changed.append(follow_client_zone)
