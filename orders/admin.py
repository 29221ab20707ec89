"""The admin for the owner: every table can be looked at; what may be changed is changed on the desk's pages."""

from typing import Any

from allauth.account.models import EmailAddress
from django.apps import apps
from django.contrib import admin
from django.contrib.auth.models import Group, User
from django.http import HttpRequest


class ReadOnly(admin.ModelAdmin):
    """Rows written by services alone: to be looked at."""

    list_per_page = 50

    def has_add_permission(self, request: HttpRequest, obj: Any = None) -> bool:
        return False

    def has_change_permission(self, request: HttpRequest, obj: Any = None) -> bool:
        return False

    def has_delete_permission(self, request: HttpRequest, obj: Any = None) -> bool:
        return False


for _table in apps.get_app_config("orders").get_models():
    admin.site.register(_table, ReadOnly)
admin.site.unregister([User, Group, EmailAddress])  # who may sign in is the desk's page of sign-ins
