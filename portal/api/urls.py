"""Addresses of the API."""

from django.urls import path
from drf_spectacular.views import SpectacularAPIView
from rest_framework.permissions import IsAdminUser

from portal.api.views import EstimateView, OrdersView, OrderView

urlpatterns = [
    path("estimate", EstimateView.as_view(), name="api_estimate"),
    path("orders", OrdersView.as_view(), name="api_orders"),
    path("orders/<str:number>", OrderView.as_view(), name="api_order"),
    path("schema", SpectacularAPIView.as_view(permission_classes=[IsAdminUser]), name="api_schema"),
]
