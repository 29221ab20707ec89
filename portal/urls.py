"""Addresses of the customers' doors."""

from django.urls import URLPattern, URLResolver, include, path
from django.views.i18n import set_language

from portal import webhooks
from portal.views import answers, approval, ask, calendar, change, enquiry, front, mine, order, pay, quote

app_name = "portal"

urlpatterns: list[URLPattern | URLResolver] = [
    path("", front.home, name="home"),
    path("favicon.ico", front.favicon, name="favicon"),
    path("terms/", front.terms, name="terms"),
    path("units/", front.units, name="units"),
    path("language/", set_language, name="language"),
    path("mail/", front.mail, name="mail"),
    path("ask/", ask.ask, name="ask"),
    path("ask/estimate", ask.estimate, name="ask_estimate"),
    path("enquiry/<str:token>/", enquiry.show, name="enquiry"),
    path("enquiry/<str:token>/change/", change.change, name="enquiry_change"),
    path("enquiry/<str:token>/answer/", enquiry.answer, name="enquiry_answer"),
    path("enquiry/<str:token>/withdraw/", enquiry.withdraw, name="enquiry_withdraw"),
    path("enquiry/<str:token>/message/", enquiry.write, name="enquiry_message"),
    path("enquiry/<str:token>/picture/", enquiry.picture, name="enquiry_picture"),
    path("quote/<str:token>/", quote.show, name="quote"),
    path("quote/<str:token>/accept/", quote.accept, name="quote_accept"),
    path("quote/<str:token>/decline/", quote.decline, name="quote_decline"),
    path("quote/<str:token>/message/", quote.write, name="quote_message"),
    path("quote/<str:token>/terms/", quote.terms, name="quote_terms"),
    path("quote/<str:token>/changes/", quote.changes, name="quote_changes"),
    path("quote/<str:token>/pdf/", quote.pdf, name="quote_pdf"),
    path("quote/<str:token>/drawing/", quote.drawing, name="quote_drawing"),
    path("quote/<str:token>/drawing/ask/", quote.draw, name="quote_draw"),
    path("calendar/<str:token>.ics", calendar.feed, name="calendar"),
    path("calendar/order/<str:word>.ics", calendar.of_order, name="order_calendar"),
    path("mine/", mine.mine, name="mine"),
    path("mine/<str:number>/", order.own, name="own_order"),
    path("order/<str:token>/", order.show, name="order"),
    path("order/<str:token>/message/", order.write, name="order_message"),
    path("order/<str:token>/papers/", order.ask_for_papers, name="order_papers"),
    path("order/<str:token>/photograph/<int:record_id>/", order.photograph, name="photograph"),
    path("order/<str:token>/questions/", answers.answer, name="questions"),
    path("order/<str:token>/paper/<int:paper_id>/", order.paper, name="paper"),
    path("order/<str:token>/pay/<str:kind>/", pay.show, name="pay"),
    path("order/<str:token>/pay/<str:kind>/card/", pay.by_card, name="pay_card"),
    path("order/<str:token>/pay/<str:kind>/card/end/", pay.end_card, name="pay_card_end"),
    path("order/<str:token>/<str:kind>/<int:revision>/", approval.decide, name="approval"),
    path("webhooks/card/", webhooks.card_message, name="card_webhook"),
    path("api/", include("portal.api.urls")),
]
