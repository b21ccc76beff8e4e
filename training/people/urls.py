"""Addresses of people: signing in, the cautions, papers, stand-downs."""

from __future__ import annotations

from django.urls import path

from training.people import views

app_name = "people"
urlpatterns = [
    path("sign-in/", views.sign_in, name="sign_in"),
    path("sign-out/", views.sign_out, name="sign_out"),
    path("cautions/", views.cautions, name="cautions"),
    path("mine/", views.mine, name="mine"),
    path("mine/<int:record>/countersign/", views.countersign, name="countersign"),
    path("mine/<int:record>/dispute/", views.dispute, name="dispute"),
    path("", views.everyone, name="everyone"),
    path("new/", views.join, name="join"),
    path("<int:person_id>/", views.person, name="person"),
    path("<int:person_id>/appoint/", views.appoint, name="appoint"),
    path("<int:person_id>/appoint-mentor/", views.appoint_mentor, name="appoint_mentor"),
    path("<int:person_id>/second/<int:record>/", views.sign_second, name="sign_second"),
    path("<int:person_id>/confirm/<int:record>/", views.confirm, name="confirm"),
    path("<int:person_id>/roles/", views.change_roles, name="roles"),
    path("<int:person_id>/leaving/", views.enter_leaving, name="leaving"),
    path("<int:person_id>/stand-down/", views.stand_down, name="stand_down"),
    path("<int:person_id>/release/<int:record>/", views.release, name="release"),
    path("<int:person_id>/appointment/<int:record>/", views.appointment, name="appointment"),
    path("<int:person_id>/settle/<int:record>/", views.settle, name="settle"),
    path("<int:person_id>/verify/<int:record>/", views.verify, name="verify"),
    path("<int:person_id>/paper/<str:kind>/", views.paper, name="paper"),
]
