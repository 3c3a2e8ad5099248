"""Every page, by its address."""

from django.urls import URLPattern, URLResolver, include, path

from records.web import finding, home, signing_in

urlpatterns: list[URLPattern | URLResolver] = [
    path("", home.home, name="home"),
    path("find", finding.find_page, name="find"),
    path("safety", home.safety, name="safety"),
    path("sign-in", signing_in.sign_in, name="sign-in"),
    path("sign-out", signing_in.sign_out, name="sign-out"),
    path("", include("records.web.writing_urls")),
]
