"""The nouns between enquiry and books, one file each."""

from orders.models.approval import Approval
from orders.models.audit import AuditRecord
from orders.models.charge import Charge
from orders.models.confirmation import Confirmation
from orders.models.customer import Customer
from orders.models.document import Document
from orders.models.enquiry import Enquiry
from orders.models.exact_date import ExactDate
from orders.models.invoice import Invoice
from orders.models.journal import Account, JournalEntry, JournalLine, Period
from orders.models.message import Message
from orders.models.order import Order
from orders.models.outbox import Mail, OutboxJob
from orders.models.payment import CardRefund, Payment, PaymentAttempt, PaymentRequest, ProviderEvent
from orders.models.person import Absence, BenchPerson, Closure, Machine, Rack, StageType
from orders.models.plan import (
    CalendarLink,
    ForecastHistory,
    PlanDecision,
    PlanQuestion,
    PlanVersion,
    TimberWait,
)
from orders.models.propeller import Propeller
from orders.models.repricing import Repricing
from orders.models.review import ReviewDraft
from orders.models.rush_cost import RushCost
from orders.models.stage import Stage, StageRecord
from orders.models.timber_lot import TimberLot
from orders.models.workshop import Workshop

__all__ = [
    "Absence",
    "Account",
    "Approval",
    "AuditRecord",
    "BenchPerson",
    "Charge",
    "CalendarLink",
    "CardRefund",
    "Closure",
    "Confirmation",
    "Customer",
    "Document",
    "Enquiry",
    "ExactDate",
    "ForecastHistory",
    "Invoice",
    "JournalEntry",
    "JournalLine",
    "Machine",
    "Mail",
    "Message",
    "Order",
    "OutboxJob",
    "Payment",
    "PaymentAttempt",
    "PaymentRequest",
    "Period",
    "PlanDecision",
    "PlanQuestion",
    "PlanVersion",
    "Propeller",
    "ProviderEvent",
    "Rack",
    "Repricing",
    "ReviewDraft",
    "RushCost",
    "Stage",
    "StageRecord",
    "StageType",
    "TimberLot",
    "TimberWait",
    "Workshop",
]
