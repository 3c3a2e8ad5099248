"""The first page: the find box, what the record holds, what happened last."""

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render


def home(request: HttpRequest) -> HttpResponse:
    """Show the first page."""
    return render(request, "records/home.html")


def safety(request: HttpRequest) -> HttpResponse:
    """Show the safety words in full."""
    return render(request, "records/safety.html")
