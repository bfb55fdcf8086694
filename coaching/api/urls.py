"""The API paths of `coaching`, under /api/v1/."""

from django.urls import URLPattern

urlpatterns: list[URLPattern] = []
