"""What the API takes and gives."""

from typing import Any

from rest_framework import serializers

from orders.models import Order
from portal.forms.ask import PropellerForm

LONGEST = 400


class AskedSerializer(serializers.Serializer[dict[str, Any]]):
    """The fields of the ask page, by the same names, as text; empty or left out takes the default."""

    def get_fields(self) -> dict[str, serializers.Field[Any, Any, Any, Any]]:
        return {
            name: serializers.CharField(
                required=False, allow_blank=True, max_length=LONGEST, help_text=str(field.label or "")
            )
            for name, field in PropellerForm.base_fields.items()
        }

    def validate(self, attrs: dict[str, str]) -> dict[str, str]:
        unknown = sorted(set(self.initial_data) - set(self.fields))
        if unknown:
            raise serializers.ValidationError(dict.fromkeys(unknown[:20], "There is no such field."))
        return attrs


class FindingSerializer(serializers.Serializer[Any]):
    """One result of a check."""

    code = serializers.CharField()
    severity = serializers.CharField()
    field = serializers.CharField()
    figure = serializers.FloatField(allow_null=True)
    limit = serializers.FloatField(allow_null=True)
    unit = serializers.CharField()
    message = serializers.CharField()
    source = serializers.CharField()  # type: ignore[assignment]


class EstimateSerializer(serializers.Serializer[Any]):
    """The answer: `estimate` is null while a field needs mending, its price null while a finding says stop.

    Amounts are {"amount": decimal text, "currency": ISO 4217}; lengths in metres; dates ISO 8601.
    """

    caution = serializers.CharField()
    problems = FindingSerializer(many=True)
    findings = FindingSerializer(many=True)
    estimate = serializers.JSONField(allow_null=True)


class OrderSerializer(serializers.ModelSerializer[Order]):
    """One of the customer's own orders; amounts in minor units of `currency`."""

    class Meta:
        model = Order
        fields = (
            *("number", "title", "state", "display_only", "quantity", "currency", "net", "tax", "gross"),
            *("deposit", "promise", "accepted_at", "dispatched_at", "carrier", "tracking"),
        )
