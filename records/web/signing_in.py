"""Sign-in and sign-out, and what becomes of a form when a sign-in has ended meanwhile."""

from typing import Any

from django.contrib.auth.forms import AuthenticationForm
from django.contrib.auth.middleware import LoginRequiredMiddleware
from django.contrib.auth.views import LoginView, LogoutView
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.views.csrf import csrf_failure

from records.web import unsent

FORBIDDEN = 403


class SignInForm(AuthenticationForm):
    """A name and a password."""

    error_messages = {
        "invalid_login": "The name or the password is wrong. Capital letters count in both.",
        "inactive": "This name is closed. Ask whoever runs this Legbook to open it.",
    }


class SignIn(LoginView):
    """The sign-in page, which hands on what was filled in before it was needed."""

    template_name = "records/sign_in.html"
    authentication_form = SignInForm
    redirect_authenticated_user = True

    def get_context_data(self, **given: Any) -> dict[str, Any]:
        """Carry what was filled in through a wrong password."""
        return super().get_context_data(unsent=self.request.POST.get("unsent"), **given)

    def form_valid(self, form: AuthenticationForm) -> HttpResponse:
        """Sign in, and lead to the page that was asked for."""
        answer = super().form_valid(form)
        if "unsent" in self.request.POST:
            unsent.keep(self.request, self.get_success_url(), self.request.POST["unsent"])
        return answer


sign_in = SignIn.as_view()
sign_out = LogoutView.as_view()


class AsksForSignIn(LoginRequiredMiddleware):
    """Nothing answers without a sign-in; a form that was filled in meanwhile is not lost."""

    def handle_no_permission(self, request: HttpRequest, view_func: Any) -> Any:
        """Lead to the sign-in page with what was sent; tell a look-up why it has no answer."""
        if is_part(request):
            return _told_in_the_page(request)
        if request.method == "POST" and request.path != reverse("sign-out"):
            return _asked_with_what_was_sent(request)
        return super().handle_no_permission(request, view_func)


def is_part(request: HttpRequest) -> bool:
    """Tell whether htmx asks for part of a page."""
    return request.headers.get("HX-Request") == "true"


def _asked_with_what_was_sent(request: HttpRequest) -> HttpResponse:
    context = {
        "form": SignInForm(request),
        "next": request.get_full_path(),
        "unsent": unsent.filled_in(request),
    }
    return render(request, "records/sign_in.html", context, status=FORBIDDEN)


def _told_in_the_page(request: HttpRequest) -> HttpResponse:
    """Answer part of a page: over the page, so that what is filled in there stays."""
    context = {"comes_back": bool(unsent.filled_in(request))}
    answer = render(request, "records/_sign_in_ended.html", context, status=FORBIDDEN)
    answer["HX-Retarget"] = "#sign-in-ended"
    answer["HX-Reswap"] = "innerHTML"
    answer["HX-Reselect"] = "unset"
    return answer


def out_of_date(request: HttpRequest, reason: str = "") -> HttpResponse:
    """Answer a form whose secret is not this sign-in's: ask for a sign-in, or show it again."""
    if request.path == reverse("sign-in"):
        return csrf_failure(request, reason)
    if is_part(request):
        return _told_in_the_page(request)
    if not request.user.is_authenticated:
        return _asked_with_what_was_sent(request)
    unsent.keep(request, request.get_full_path(), unsent.filled_in(request))
    return redirect(request.get_full_path())
