"""Addresses: the customers' doors at the root, the workshop's pages under /desk/, sign-in under /account/."""

from django.urls import include, path

urlpatterns = [
    path("", include("portal.urls")),
    path("desk/", include("orders.desk.urls")),
    path("account/", include("allauth.account.urls")),
]
