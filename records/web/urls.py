"""Every page, by its address."""

from django.urls import URLPattern, URLResolver, include, path

from records.web import (
    cables,
    causes,
    equipment,
    explanation,
    exports,
    finding,
    hanging,
    history,
    home,
    lines,
    pack,
    places,
    points,
    signing_in,
    standards,
    tags,
    take_overs,
    what_if,
)

urlpatterns: list[URLPattern | URLResolver] = [
    path("", home.home, name="home"),
    path("find", finding.find_page, name="find"),
    path("safety", home.safety, name="safety"),
    path("sign-in", signing_in.sign_in, name="sign-in"),
    path("sign-out", signing_in.sign_out, name="sign-out"),
    path("", include("records.web.writing_urls")),
    # Things.
    path("places/<int:place_id>/", places.place_page, name="place"),
    path("places/<int:place_id>/pack/", pack.pack_page, name="pack"),
    path("places/<int:place_id>/pack/file", pack.pack_file, name="pack-file"),
    path("places/<int:place_id>/exports/", exports.exports_page, name="exports"),
    path("places/<int:place_id>/exports/<slug:what>.csv", exports.export_file, name="export"),
    path("equipment/<int:equipment_id>/", equipment.equipment_page, name="equipment"),
    path("points/<int:point_id>/", points.point_page, name="point"),
    path(
        "points/<int:point_id>/light/<int:channel_id>/",
        explanation.explanation_page,
        name="explanation",
    ),
    path("cables/<int:cable_id>/", cables.cable_page, name="cable"),
    path("lines/<int:line_id>/", lines.line_page, name="line"),
    path("below/<str:noun>/<int:thing_id>/", hanging.below_page, name="below"),
    path("causes/<str:noun>/<int:thing_id>/", causes.causes_page, name="causes"),
    path("what-if/<str:noun>/<int:thing_id>/", what_if.what_if_page, name="what-if"),
    # Tags. A QR holds capitals only, which makes it smaller.
    path("tags/<str:code>/", tags.tag_page, name="tag"),
    path("T/<str:code>", tags.scan, name="scan"),
    path("t/<str:code>", tags.scan),
    # What was changed.
    path("history/<str:noun>/<int:thing_id>/", history.history_page, name="history"),
    path("changes/", history.changes_page, name="changes"),
    path("changes/<int:number>/", history.change_page, name="change"),
    # Where figures come from.
    path("catalogue/", standards.catalogue_page, name="catalogue"),
    path("catalogue/classes/<int:class_id>/", standards.class_page, name="optical-class"),
    path("catalogue/entries/<int:entry_id>/", standards.entry_page, name="entry"),
    path("catalogue/take-overs/", take_overs.take_overs_page, name="take-overs"),
    path("catalogue/take-overs/<int:take_over_id>/", take_overs.take_over_page, name="take-over"),
    path(
        "catalogue/take-overs/<int:take_over_id>/step",
        take_overs.take_over_step,
        name="take-over-step",
    ),
    path("catalogue/colours/<int:scheme_id>/", standards.colours_page, name="colours"),
]
