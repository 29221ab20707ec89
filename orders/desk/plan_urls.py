"""Addresses of the shop model's pages and of the plan's."""

from django.urls import path

from orders.desk import people, plan, shop

PLAN = [
    path("plan/", plan.plan, name="plan"),
    path("shop/", shop.shop, name="shop"),
    path("shop/hours/", shop.change_hours, name="hours"),
    path("shop/closures/", shop.close, name="close"),
    path("shop/closures/<int:pk>/strike-out/", shop.open_again, name="open-again"),
    path("shop/people/", people.everybody, name="people"),
    path("shop/people/add/", people.add, name="person-add"),
    path("shop/people/<slug:key>/", people.person, name="person"),
    path("shop/people/<slug:key>/change/", people.change, name="person-change"),
    path("shop/people/<slug:key>/absences/", people.away, name="absence"),
    path("shop/people/<slug:key>/absences/<int:pk>/strike-out/", people.back, name="absence-back"),
    path("shop/people/<slug:key>/leave/", people.leave, name="person-leave"),
    path("shop/machines/", shop.machines, name="machines"),
    path("shop/machines/add/", shop.machine, name="machine-add"),
    path("shop/machines/<slug:key>/", shop.machine, name="machine-change"),
    path("shop/machines/<slug:key>/out-of-use/", shop.out_of_use, name="out-of-use"),
    path("shop/machines/<slug:key>/in-use/<str:first>/<str:last>/", shop.in_use, name="in-use"),
    path("shop/racks/add/", shop.rack, name="rack-add"),
    path("shop/racks/<slug:key>/", shop.rack, name="rack-change"),
    path("shop/take-away/<str:kind>/<slug:key>/", shop.take_away, name="take-away"),
    path("shop/stages/", shop.all_stages, name="stages"),
    path("shop/stages/<slug:key>/", shop.change_stage, name="stage-change"),
    path("shop/stages/<slug:key>/<str:way>/", shop.move_stage, name="stage-move"),
    path("calendar/<slug:key>/make/", people.make_link, name="calendar-make"),
    path("calendar/<slug:key>/revoke/", people.revoke_link, name="calendar-revoke"),
]
