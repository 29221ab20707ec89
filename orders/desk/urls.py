"""Addresses of the workshop's pages."""

from django.urls import path

from orders.desk import bench, books, learning, morning, orders, papers, price_book, register, review
from orders.desk.plan_urls import PLAN

app_name = "desk"

urlpatterns = [
    path("", morning.morning, name="morning"),
    path("enquiries/<str:number>/", review.review, name="review"),
    path("enquiries/<str:number>/line/", review.change_line, name="change-line"),
    path("enquiries/<str:number>/override/", review.override, name="override"),
    path("enquiries/<str:number>/send/", review.send, name="send"),
    path("enquiries/<str:number>/ask-back/", review.ask_back, name="ask-back"),
    path("enquiries/<str:number>/decline/", review.decline, name="decline"),
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
    *PLAN,
    path("register/", register.register, name="register"),
    path("register/<str:serial>/", register.propeller, name="propeller"),
    path("price-book/", price_book.versions, name="price-books"),
    path("price-book/draft/", price_book.draft, name="price-book-draft"),
    path("price-book/<int:pk>/", price_book.version, name="price-book"),
    path("price-book/<int:pk>/change/", price_book.change, name="price-book-change"),
    path("price-book/<int:pk>/try/", price_book.try_values, name="price-book-try"),
    path("price-book/<int:pk>/add/", price_book.add_entry, name="price-book-add"),
    path("price-book/<int:pk>/take-out/", price_book.take_out, name="price-book-take-out"),
    path("price-book/<int:pk>/re-price/", price_book.reprice, name="price-book-reprice"),
    path("price-book/<int:pk>/re-pricing/", price_book.repricing_part, name="price-book-repricing"),
    path("price-book/<int:pk>/in-force/", price_book.put_in_force, name="price-book-in-force"),
    path("learning/", learning.learning, name="learning"),
    path("learning/draft/", learning.draft, name="learning-draft"),
    path("books/", books.books, name="books"),
    path("books/invoices/", books.invoices, name="invoices"),
    path("books/journal.csv", books.export, name="export"),
]
