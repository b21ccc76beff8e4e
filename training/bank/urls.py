"""Addresses of the bank."""

from __future__ import annotations

from django.urls import path

from training.bank import reading_views, views

app_name = "bank"
urlpatterns = [
    path("primers/", reading_views.primers, name="primers"),
    path("primer/<slug:slug>/", reading_views.primer, name="primer"),
    path("<slug:workshop>/acceptance/", views.acceptance, name="acceptance"),
]
