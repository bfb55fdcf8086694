"""The app's registration with Django."""

from django.apps import AppConfig


class ProgramsConfig(AppConfig):
    """Registers the catalogue's copy, and how the calendar follows a client's zone and the business's policy."""

    name = "programs"

    def ready(self) -> None:
        """Name what the kernel calls in this app."""
        from coaching import registry
        from programs.actions.business_policy import follow_business_policy
        from programs.actions.catalogue import copy_catalogue
        from programs.actions.planned_sessions import follow_client_zone
        from programs.actions.travel_places import follow_places
        from programs.catalogue.vocabulary import Equipment, Loading
        from programs.selectors.due_sessions import detection_is_overdue

        registry.overdue_probes["missed_sessions"] = detection_is_overdue
        registry.on_business_created.append(copy_catalogue)
        registry.on_client_zone_changed.append(follow_client_zone)
        registry.on_business_policy_changed.append(follow_business_policy)
        registry.on_place_changed.append(follow_places)
        registry.known_equipment.update(thing.value for thing in Equipment)
        registry.known_loadings.update(way.value for way in Loading)
