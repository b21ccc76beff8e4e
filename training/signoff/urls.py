"""Addresses of observations."""

from __future__ import annotations

from django.urls import path

from training.signoff import views

app_name = "signoff"
urlpatterns = [
    path("begin/", views.begin, name="begin"),
    path("<int:draft_id>/", views.observe, name="observe"),
    path("<int:draft_id>/sign/", views.sign, name="sign"),
    path("<int:draft_id>/leave/", views.leave, name="leave"),
]
