"""Addresses of the drill."""

from __future__ import annotations

from django.urls import path

from training.drill import views

app_name = "drill"
urlpatterns = [
    path("start/", views.start, name="start"),
    path("<int:drill_id>/", views.drill, name="drill"),
    path("<int:drill_id>/done/", views.closed, name="closed"),
    path("<int:drill_id>/<int:position>/", views.outcome, name="outcome"),
    path("<int:drill_id>/<int:position>/answer/", views.answer, name="answer"),
    path("<int:drill_id>/<int:position>/order/", views.order, name="order"),
]
