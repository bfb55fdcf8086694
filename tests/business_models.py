"""The models whose rows belong to a business, found by looking."""

from typing import Final

from django.apps import apps

from coaching.tenancy.models import BusinessScopedModel

BUSINESS_MODELS: Final[tuple[type[BusinessScopedModel], ...]] = tuple(
    model for model in apps.get_models() if issubclass(model, BusinessScopedModel)
)
