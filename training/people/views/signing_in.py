"""Signing in and out, and the cautions that everybody confirms once."""

from __future__ import annotations

import logging
from datetime import timedelta
from math import ceil
from typing import Any

from django.contrib.auth.views import LoginView, LogoutView
from django.db import DatabaseError
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.utils.http import url_has_allowed_host_and_scheme
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods

from training.people import actions, attempts, browsers
from training.people.forms import SignInForm
from training.people.models import Person
from training.people.own_password import too_many
from training.web.requests import AuthenticatedRequest

logger = logging.getLogger(__name__)


class SignIn(LoginView):
    """Django's own, with our page; a wrong password is a 400, too many of them a 429, uncounted ones a 503."""

    template_name = "people/sign_in.html"
    authentication_form = SignInForm
    redirect_authenticated_user = True
    http_method_names = ["get", "head", "post", "options"]
    counted: attempts.Try

    def post(self, request: HttpRequest, *args: Any, **kwargs: Any) -> HttpResponse:
        try:
            return self._counted(request)
        except DatabaseError:  # a try that cannot be counted is not looked at
            logger.exception("Nobody can sign in: the tries cannot be counted")
            return self._refused(
                _("Nobody can sign in at the moment. Try again in a minute."), 503, timedelta(minutes=1)
            )

    def form_valid(self, form: Any) -> HttpResponse:
        attempts.succeeded(self.counted)
        answer = super().form_valid(form)
        browsers.remember(self.request, answer, form.get_user())
        return answer

    def form_invalid(self, form: Any) -> HttpResponse:
        return self.render_to_response(self.get_context_data(form=form), status=400)

    def _counted(self, request: HttpRequest) -> HttpResponse:
        name = request.POST.get("username", "")[: Person._meta.get_field("username").max_length]
        counts = attempts.sign_in_counts(
            username=name, address=browsers.address_of(request), browser=browsers.browser_of(request, name)
        )
        self.counted = attempts.begin(counts, at=timezone.now())
        if self.counted.wait is None:
            return super().post(request)
        return self._refused(too_many(self.counted.wait), 429, self.counted.wait)

    def _refused(self, sentence: str, status: int, wait: timedelta) -> HttpResponse:
        """The same for a name that nobody has; nothing was looked at."""
        context = {**self.get_context_data(form=self.get_form_class()(self.request)), "refused": sentence}
        answer = self.render_to_response(context, status=status)
        answer.headers["Retry-After"] = str(ceil(wait.total_seconds()))
        return answer


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
