"""The app's registration with Django."""

from django.apps import AppConfig


class LogsConfig(AppConfig):
    """Registers `logs`."""

    name = "logs"
