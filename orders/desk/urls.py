"""Addresses of the workshop's pages."""

from django.urls import path

from orders.desk import bench, morning, order_steps, orders, papers, register
from orders.desk.books_urls import BOOKS
from orders.desk.drawing_urls import DRAWN
from orders.desk.plan_urls import PLAN
from orders.desk.quote_urls import QUOTES
from orders.desk.redo_urls import REDO

app_name = "desk"

urlpatterns = [
    path("", morning.morning, name="morning"),
    path("mail-again/", morning.mail_again, name="mail-again"),
    path("jobs/<int:pk>/again/", morning.job_again, name="job-again"),
    *QUOTES,
    path("orders/", orders.orders, name="orders"),
    path("orders/<str:number>/", orders.order, name="order"),
    path("orders/<str:number>/transfer/", order_steps.transfer, name="transfer"),
    path("orders/<str:number>/hold/", order_steps.hold, name="hold"),
    path("orders/<str:number>/resume/", order_steps.resume, name="resume"),
    path("orders/<str:number>/cancel/", order_steps.cancel, name="cancel"),
    path("orders/<str:number>/ask-again/<str:kind>/", order_steps.ask_again, name="ask-again"),
    path("orders/<str:number>/invoice/", order_steps.issue, name="invoice"),
    path("orders/<str:number>/dispatch/", order_steps.send_off, name="dispatch"),
    path("orders/<str:number>/change-fee/", order_steps.charge_change, name="charge-change"),
    path("orders/<str:number>/storage/", order_steps.charge_storage, name="charge-storage"),
    path("orders/<str:number>/freight/", order_steps.freight, name="freight"),
    path("orders/<str:number>/answer/", order_steps.answer, name="answer"),
    path("orders/<str:number>/release/<int:position>/", orders.release_stage, name="release"),
    path("orders/<str:number>/papers/<int:pk>/", papers.paper, name="paper"),
    path("bench/", bench.today, name="bench"),
    path("bench/<int:pk>/", bench.stage, name="stage"),
    path("bench/<int:pk>/start/", bench.start, name="start"),
    path("bench/<int:pk>/record/", bench.record, name="record"),
    *DRAWN,
    *PLAN,
    *REDO,
    path("register/", register.register, name="register"),
    path("register/<str:serial>/", register.propeller, name="propeller"),
    *BOOKS,
]
