"""The API's answers: the same services as the pages."""

from typing import Any

from django.utils import timezone
from drf_spectacular.utils import extend_schema
from rest_framework.generics import ListAPIView, RetrieveAPIView
from rest_framework.permissions import AllowAny
from rest_framework.request import Request
from rest_framework.response import Response
from rest_framework.views import APIView

from orders import access
from orders.models import Order
from portal.api.fields import AskedSerializer, EstimateSerializer, OrderSerializer
from portal.limits import OftenEnough
from quoting.services.answers import kept
from quoting.services.estimating import live_estimate
from quoting.services.serial import unstructured

CAUTION = (
    "Computed for planning, not an approval: the engine's and airframe's approved data, local rules and a licensed "
    "mechanic or inspector decide what may be fitted and flown."
)


class EstimateView(APIView):
    """The instant answer to the fields of the ask page; nothing is stored."""

    authentication_classes = ()
    permission_classes = (AllowAny,)
    throttle_classes = (OftenEnough,)

    @extend_schema(request=AskedSerializer, responses={200: EstimateSerializer, 422: EstimateSerializer})
    def post(self, request: Request) -> Response:
        asked = AskedSerializer(data=request.data)
        asked.is_valid(raise_exception=True)
        answer = live_estimate(asked.validated_data, today=timezone.localdate())
        body: dict[str, Any] = {
            "caution": CAUTION,
            "problems": unstructured(answer.problems),
            "findings": unstructured(answer.findings),
            "estimate": kept(answer),
        }
        return Response(body, status=200 if answer.estimate else 422)


class OrdersView(ListAPIView[Order]):
    """One's own orders, newest first."""

    serializer_class = OrderSerializer
    queryset = Order.objects.none()

    def get_queryset(self) -> Any:
        return access.own_rows(self.request.user, Order).order_by("-accepted_at")


class OrderView(RetrieveAPIView[Order]):
    """One of one's own orders; another's is not there."""

    serializer_class = OrderSerializer
    queryset = Order.objects.none()
    lookup_field = "number"

    def get_queryset(self) -> Any:
        return access.own_rows(self.request.user, Order).order_by("-accepted_at")
