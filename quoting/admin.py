"""Administration of the quoting tables: the catalogue may be extended here; price books and quotes are only read."""

import json
from typing import Any

from django import forms
from django.contrib import admin
from django.core.exceptions import ValidationError
from django.db.models import Model
from django.http import HttpRequest

from quoting import models
from quoting.services.catalogue import TABLES, renew_stamp, save_row
from quoting.services.catalogue_fields import WrongRow, checked_values

KINDS = {table: kind for kind, table in TABLES.items()}


class RowForm(forms.ModelForm):
    """A catalogue row with its values as JSON, checked like a row of the catalogue's files."""

    class Meta:
        fields = ("code", "name", "order", "offered", "values")
        widgets = {"values": forms.Textarea(attrs={"rows": 30, "cols": 100})}

    def clean_values(self) -> dict[str, Any]:
        values = self.cleaned_data["values"]
        if not isinstance(values, dict):
            raise ValidationError('Give an object of fields, such as {"remark": "..."}.')
        try:
            return checked_values(KINDS[self._meta.model], values, str(self.data.get("code", "")))
        except WrongRow as error:
            raise ValidationError(str(error)) from error

    def prepare_value(self, value: Any) -> Any:
        return json.dumps(value, indent=2, ensure_ascii=False) if isinstance(value, dict) else value


class RowAdmin(admin.ModelAdmin):
    """Rows saved here are the owner's from then on: loading the catalogue again leaves them alone."""

    form = RowForm
    list_display = ("name", "code", "entered_by", "offered", "order")
    list_filter = ("entered_by", "offered")
    search_fields = ("code", "name")

    def save_model(self, request: HttpRequest, obj: models.CatalogueRow, form: Any, change: bool) -> None:
        save_row(obj)

    def delete_model(self, request: HttpRequest, obj: models.CatalogueRow) -> None:
        obj.delete()
        renew_stamp()

    def delete_queryset(self, request: HttpRequest, queryset: Any) -> None:
        queryset.delete()
        renew_stamp()


class ReadOnly(admin.ModelAdmin):
    """Seen, not edited: changes go through the services."""

    def has_add_permission(self, request: HttpRequest, obj: Model | None = None) -> bool:
        return False

    def has_change_permission(self, request: HttpRequest, obj: Model | None = None) -> bool:
        return False

    def has_delete_permission(self, request: HttpRequest, obj: Model | None = None) -> bool:
        return False


class Entries(admin.TabularInline):
    model = models.PriceBookEntry
    fields = ("key", "value", "unit", "low", "high", "sentence")
    readonly_fields = ("value", "low", "high")
    can_delete = False
    extra = 0

    def has_add_permission(self, request: HttpRequest, obj: Model | None = None) -> bool:
        return False

    def has_change_permission(self, request: HttpRequest, obj: Model | None = None) -> bool:
        return False


@admin.register(models.PriceBookVersion)
class PriceBooks(ReadOnly):
    list_display = ("version", "currency", "state", "effective_from")
    inlines = (Entries,)


@admin.register(models.Quote)
class Quotes(ReadOnly):
    list_display = ("reference", "state", "gross", "issued_at", "expires_at", "promised_for")
    list_filter = ("state",)
    list_select_related = ("series",)
    search_fields = ("series__number",)
    exclude = ("token",)


@admin.register(models.PlanOutlook)
class Outlooks(ReadOnly):
    list_display = ("version", "as_of")


@admin.register(models.TaxRate)
class TaxRates(ReadOnly):
    list_display = ("country", "code", "label", "percent", "valid_from", "valid_to")
    list_filter = ("country",)


@admin.register(models.FreightZone)
class FreightZones(admin.ModelAdmin):
    list_display = ("name", "code", "order", "days")


for _table in TABLES.values():
    admin.site.register(_table, RowAdmin)
