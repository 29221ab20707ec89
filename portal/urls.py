"""Addresses of the customers' doors."""

from django.urls import URLPattern, path
from django.views.i18n import set_language

from portal.views import front

app_name = "portal"

urlpatterns: list[URLPattern] = [
    path("", front.home, name="home"),
    path("terms/", front.terms, name="terms"),
    path("units/", front.units, name="units"),
    path("language/", set_language, name="language"),
    path("mail/", front.mail, name="mail"),
]
