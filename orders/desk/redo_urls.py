"""Addresses of what is done about a build that went another way."""

from django.urls import path

from orders.desk import redo, register

REDO = [
    path("bench/<int:pk>/again/", redo.again, name="stage-again"),
    path("bench/<int:pk>/leave-out/", redo.leave_out, name="stage-leave-out"),
    path("bench/<int:pk>/photo/<int:record>/", redo.photo, name="photo"),
    path("register/<str:serial>/retire/", register.retire, name="retire"),
]
