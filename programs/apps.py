"""The app's registration with Django."""

from django.apps import AppConfig


class ProgramsConfig(AppConfig):
    """Registers `programs`."""

    name = "programs"
