"""The admin for the owner: shop tables can be edited, everything that only services may write is read-only."""

from typing import Any

from django.contrib import admin
from django.http import HttpRequest

from orders import models


class ReadOnly(admin.ModelAdmin):
    """Rows written by services alone: to be looked at."""

    list_per_page = 50

    def has_add_permission(self, request: HttpRequest, obj: Any = None) -> bool:
        return False

    def has_change_permission(self, request: HttpRequest, obj: Any = None) -> bool:
        return False

    def has_delete_permission(self, request: HttpRequest, obj: Any = None) -> bool:
        return False


admin.site.register(
    [
        models.Approval,
        models.Account,
        models.AuditRecord,
        models.Charge,
        models.Customer,
        models.Document,
        models.Enquiry,
        models.ForecastHistory,
        models.Invoice,
        models.JournalEntry,
        models.JournalLine,
        models.Mail,
        models.Message,
        models.Order,
        models.OutboxJob,
        models.Payment,
        models.PaymentAttempt,
        models.PaymentRequest,
        models.Period,
        models.PlanDecision,
        models.PlanQuestion,
        models.PlanVersion,
        models.Propeller,
        models.ProviderEvent,
        models.Repricing,
        models.RushCost,
        models.Stage,
        models.StageRecord,
        models.TimberWait,
    ],
    ReadOnly,
)
admin.site.register(
    [models.Absence, models.BenchPerson, models.Closure, models.Machine, models.Rack, models.TimberLot]
)
admin.site.register([models.StageType, models.Workshop])
