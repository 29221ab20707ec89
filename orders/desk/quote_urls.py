"""Addresses of the review, the price book, what it learns from, and the tax table."""

from django.urls import URLPattern, path

from orders.desk import enquiries, learning, price_book, review, review_changes, review_date, taxes

QUOTES: list[URLPattern] = [
    path("enquiries/", enquiries.enquiries, name="enquiries"),
    path("enquiries/<str:number>/", review.review, name="review"),
    path("enquiries/<str:number>/keep/", review_changes.keep_typed, name="keep-typed"),
    path("enquiries/<str:number>/line/", review_changes.change_line, name="change-line"),
    path("enquiries/<str:number>/add-line/", review_changes.add_line, name="add-line"),
    path("enquiries/<str:number>/terms/", review_changes.change_terms, name="change-terms"),
    path("enquiries/<str:number>/override/", review_changes.override, name="override"),
    path("enquiries/<str:number>/undo/", review_changes.undo, name="undo"),
    path("enquiries/<str:number>/rush/", review_changes.rush_cost, name="rush-cost"),
    path("enquiries/<str:number>/date/", review_date.part, name="review-date"),
    path("enquiries/<str:number>/exact-date/", review_date.ask, name="exact-date"),
    path("enquiries/<str:number>/send/", review.send, name="send"),
    path("enquiries/<str:number>/ask-back/", review.ask_back, name="ask-back"),
    path("enquiries/<str:number>/decline/", review.decline, name="decline"),
    path("enquiries/<str:number>/write/", review.write, name="write"),
    path("enquiries/<str:number>/compare/", review.compare_revisions, name="compare"),
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
    path("taxes/", taxes.table, name="taxes"),
    path("taxes/add/", taxes.add, name="tax-add"),
    path("taxes/<int:pk>/end/", taxes.end, name="tax-end"),
    path("learning/", learning.learning, name="learning"),
    path("learning/draft/", learning.draft, name="learning-draft"),
]
