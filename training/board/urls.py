"""Addresses of the pages that look at everything."""

from __future__ import annotations

from django.urls import path

from training.board.cascade import views as cascade
from training.board.past import views as past
from training.board.privacy import views as privacy
from training.board.recall import views as recall
from training.board.rules.views import book as rules
from training.board.rules.views import changing as rules_change
from training.board.small_shop import views as small_shops
from training.board.views import board, home, mentor, refit
from training.board.work.views import crews, stops
from training.board.work.views import job as jobs
from training.board.work.views import start as work

app_name = "board"
urlpatterns = [
    path("", home.home, name="home"),
    path("tally/", home.card, name="card"),
    path("stops/", stops.stops, name="stops"),
    path("copy/<int:person_id>/", privacy.copy, name="copy"),
    path("left/", privacy.gone, name="leavers"),
    path("left/<int:person_id>/", privacy.erasure, name="erasure"),
    path("recall/", recall.recall, name="recall"),
    path("recall/parameters/", refit.parameters, name="parameters"),
    path("recall/parameters/<int:number>/", refit.confirm, name="confirm_parameters"),
    path("watch/", mentor.waiting, name="waiting"),
    path("watch/talk/<int:person_id>/<int:number>/", mentor.talk_through, name="talk_through"),
    path("board/<slug:workshop>/", board.board, name="board"),
    path("board/<slug:workshop>/<int:person_id>/topics/", recall.topics, name="topics"),
    path("board/<slug:workshop>/<int:person_id>/<str:job_type>/", board.cell, name="cell"),
    path("withdraw/<int:person_id>/<int:record>/", cascade.withdraw, name="withdraw"),
    path("past/<slug:workshop>/", past.past, name="past"),
    path("past/<slug:workshop>/<int:person_id>/<str:job_type>/", past.past_answer, name="past_answer"),
    path("rules/<slug:workshop>/", rules.rules, name="rules"),
    path("rules/<slug:workshop>/history/", rules.history, name="rules_history"),
    path("rules/<slug:workshop>/change/", rules_change.change, name="change_rules"),
    path("rules/<slug:workshop>/propose/", rules_change.propose, name="propose_rules"),
    path("rules/<slug:workshop>/small-shop/", small_shops.small_shop, name="small_shop"),
    path("rules/<slug:workshop>/small-shop/<int:record>/sign/", small_shops.sign, name="sign_small_shop"),
    path("rules/<slug:workshop>/small-shop/<int:record>/confirm/", small_shops.confirm, name="confirm_small_shop"),
    path("rules/<slug:workshop>/small-shop/<int:record>/withdraw/", small_shops.withdraw, name="withdraw_small_shop"),
    path("rules/<slug:workshop>/<int:record>/", rules.rule_book, name="rule_book"),
    path("rules/<slug:workshop>/<int:record>/file/", rules.as_file, name="rule_book_file"),
    path("rules/<slug:workshop>/<int:record>/confirm/", rules.confirm, name="confirm_rules"),
    path("rules/<slug:workshop>/<int:record>/withdraw/", rules.withdraw, name="withdraw_rules"),
    path("work/<slug:workshop>/", work.start_of_work, name="start_of_work"),
    path("work/<slug:workshop>/<int:number>/", work.started, name="started"),
    path("work/<slug:workshop>/plan/", jobs.plan, name="plan_job"),
    path("work/<slug:workshop>/stopped/", stops.stopped, name="stopped"),
    path("work/<slug:workshop>/crews/", crews.crews, name="crews"),
    path("work/<slug:workshop>/job/<str:key>/", jobs.job, name="job"),
    path("work/<slug:workshop>/job/<str:key>/done/", jobs.done, name="job_done"),
    path("work/<slug:workshop>/job/<str:key>/read/", stops.read, name="stop_read"),
]
