"""Addresses of the kit register."""

from __future__ import annotations

from django.urls import path

from training.equipment import views

app_name = "equipment"
urlpatterns = [
    path("<slug:workshop>/", views.register, name="register"),
    path("<slug:workshop>/add/", views.add, name="add"),
    path("<slug:workshop>/check/", views.check_several, name="check_several"),
    path("<slug:workshop>/<int:kit_id>/", views.entry, name="entry"),
    path("<slug:workshop>/<int:kit_id>/check/", views.check, name="check"),
    path("<slug:workshop>/<int:kit_id>/note/", views.note, name="note"),
    path("<slug:workshop>/<int:kit_id>/test/", views.test, name="test"),
    path("<slug:workshop>/<int:kit_id>/issue/", views.issue, name="issue"),
    path("<slug:workshop>/<int:kit_id>/retire/", views.retire, name="retire"),
]
