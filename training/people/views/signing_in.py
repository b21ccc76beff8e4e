"""Signing in and out, and the cautions that everybody confirms once."""

from __future__ import annotations

from typing import Any

from django.contrib.auth.views import LoginView, LogoutView
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.utils.http import url_has_allowed_host_and_scheme
from django.views.decorators.http import require_http_methods

from training.people import actions
from training.people.forms import SignInForm
from training.web.requests import AuthenticatedRequest


class SignIn(LoginView):
    """Django's own, with our page; a wrong password is a 400."""

    template_name = "people/sign_in.html"
    authentication_form = SignInForm
    redirect_authenticated_user = True
    http_method_names = ["get", "head", "post", "options"]

    def form_invalid(self, form: Any) -> HttpResponse:
        return self.render_to_response(self.get_context_data(form=form), status=400)


sign_in = SignIn.as_view()
sign_out = LogoutView.as_view()


@require_http_methods(["GET", "HEAD", "POST"])
def cautions(request: AuthenticatedRequest) -> HttpResponse:
    """Show the cautions; POST confirms them and goes on to where the person was going."""
    if request.method == "POST":
        actions.read_cautions(person=request.user, at=timezone.now())
        return redirect(_next(request))
    context = {"next": _next(request), "unread": request.user.cautions_read_at is None}
    return render(request, "people/cautions.html", context)


def _next(request: HttpRequest) -> str:
    place = request.POST.get("next") or request.GET.get("next") or "/"
    ours = url_has_allowed_host_and_scheme(place, allowed_hosts=None, require_https=False)
    return place if ours and place.startswith("/") else "/"
