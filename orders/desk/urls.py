"""Addresses of the workshop's pages."""

from django.urls import path

from orders.desk import bench, books, morning, orders, papers, register
from orders.desk.drawing_urls import DRAWN
from orders.desk.plan_urls import PLAN
from orders.desk.quote_urls import QUOTES

app_name = "desk"

urlpatterns = [
    path("", morning.morning, name="morning"),
    *QUOTES,
    path("orders/", orders.orders, name="orders"),
    path("orders/<str:number>/", orders.order, name="order"),
    path("orders/<str:number>/transfer/", orders.transfer, name="transfer"),
    path("orders/<str:number>/hold/", orders.hold, name="hold"),
    path("orders/<str:number>/resume/", orders.resume, name="resume"),
    path("orders/<str:number>/cancel/", orders.cancel, name="cancel"),
    path("orders/<str:number>/ask-again/<str:kind>/", orders.ask_again, name="ask-again"),
    path("orders/<str:number>/invoice/", orders.issue, name="invoice"),
    path("orders/<str:number>/dispatch/", orders.send_off, name="dispatch"),
    path("orders/<str:number>/answer/", orders.answer, name="answer"),
    path("orders/<str:number>/release/<int:position>/", orders.release_stage, name="release"),
    path("orders/<str:number>/papers/<int:pk>/", papers.paper, name="paper"),
    path("bench/", bench.today, name="bench"),
    path("bench/<int:pk>/", bench.stage, name="stage"),
    path("bench/<int:pk>/start/", bench.start, name="start"),
    path("bench/<int:pk>/record/", bench.record, name="record"),
    *DRAWN,
    *PLAN,
    path("register/", register.register, name="register"),
    path("register/<str:serial>/", register.propeller, name="propeller"),
    path("books/", books.books, name="books"),
    path("books/invoices/", books.invoices, name="invoices"),
    path("books/journal.csv", books.export, name="export"),
]
