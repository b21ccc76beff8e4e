"""Addresses of the bank."""

from __future__ import annotations

from django.urls import path

from training.bank import views

app_name = "bank"
urlpatterns = [path("<slug:workshop>/acceptance/", views.acceptance, name="acceptance")]
