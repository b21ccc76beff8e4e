"""Every address: one folder per app, the board at the top."""

from __future__ import annotations

from django.urls import URLPattern, URLResolver, include, path

from training.web.health import health

MOUNTS = (
    ("people/", "training.people.urls"),
    ("bank/", "training.bank.urls"),
    ("drill/", "training.drill.urls"),
    ("signoff/", "training.signoff.urls"),
    ("kit/", "training.equipment.urls"),
    ("", "training.board.urls"),
)

urlpatterns: list[URLPattern | URLResolver] = [path("health/", health, name="health")]
urlpatterns += [path(prefix, include(module)) for prefix, module in MOUNTS]

handler400 = "training.web.errors.bad_request"
handler403 = "training.web.errors.forbidden"
handler404 = "training.web.errors.not_found"
handler500 = "training.web.errors.broken"
