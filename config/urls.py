"""Addresses: the customers' doors at the root, the desk under /desk/, tables under /admin/, sign-in under /account/."""

from django.contrib import admin
from django.urls import include, path

urlpatterns = [
    path("", include("portal.urls")),
    path("desk/", include("orders.desk.urls")),
    path("admin/", admin.site.urls),
    path("account/", include("allauth.account.urls")),
]
