"""Addresses of the workshop's pages."""

from django.urls import URLPattern

app_name = "desk"

urlpatterns: list[URLPattern] = []
