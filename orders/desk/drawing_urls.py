"""Addresses of what is drawn and weighed: the files of an order and the balance worksheet of a stage."""

from django.urls import path

from orders.desk import balance, papers

DRAWN = [
    path("orders/<str:number>/draw/", papers.draw, name="draw"),
    path("bench/<int:pk>/balance/", balance.sheet, name="balance"),
]
