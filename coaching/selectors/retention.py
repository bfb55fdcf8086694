"""How long the business in scope keeps what it holds."""

from coaching.models.retention import RetentionPolicy


def get_retention_policy() -> RetentionPolicy:
    """Return the business's times; practice, at version 1, where it has changed none."""
    return RetentionPolicy.objects.first() or RetentionPolicy()
