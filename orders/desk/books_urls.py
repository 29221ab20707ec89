"""Addresses of the books: journal, months, money, invoices, and money that goes back on an order."""

from django.urls import URLPattern, path

from orders.desk import booking, books, invoices, order_money

BOOKS: list[URLPattern] = [
    path("orders/<str:number>/pay-back/bank/", order_money.pay_back_by_bank, name="pay-back-bank"),
    path("orders/<str:number>/pay-back/card/", order_money.pay_back_by_card, name="pay-back-card"),
    path("orders/<str:number>/refund/bank/", order_money.refund_by_bank, name="refund-bank"),
    path("orders/<str:number>/refund/card/", order_money.refund_by_card, name="refund-card"),
    path("orders/<str:number>/carriage/", order_money.carriage, name="carriage"),
    path("books/", books.books, name="books"),
    path("books/journal.csv", books.export, name="export"),
    path("books/entries/<int:number>/", booking.entry, name="entry"),
    path("books/entries/<int:number>/reverse/", booking.reverse, name="reverse"),
    path("books/months/", booking.months, name="months"),
    path("books/months/close/", booking.close_month, name="close-month"),
    path("books/months/open/", booking.open_month, name="open-month"),
    path("books/money/", booking.money, name="money"),
    path("books/money/payout/", booking.payout, name="payout"),
    path("books/money/tax/", booking.remit, name="remit"),
    path("books/invoices/", books.invoices, name="invoices"),
    path("books/invoices/<str:number>/", invoices.invoice, name="invoice-page"),
    path("books/invoices/<str:number>/credit/", invoices.credit, name="credit"),
]
