"""The API paths of `logs`, under /api/v1/."""

from django.urls import URLPattern

urlpatterns: list[URLPattern] = []
