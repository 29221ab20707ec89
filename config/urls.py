"""Addresses: the customers' doors at the root, the desk under /desk/, tables under /admin/, one sign-in under /account/."""

from allauth.account.decorators import secure_admin_login
from django.contrib import admin
from django.urls import include, path

admin.site.login = secure_admin_login(admin.site.login)  # type: ignore[method-assign]

urlpatterns = [
    path("", include("portal.urls")),
    path("desk/", include("orders.desk.urls")),
    path("admin/", admin.site.urls),
    path("account/", include("allauth.account.urls")),
]
