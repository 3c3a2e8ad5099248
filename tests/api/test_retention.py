"""What has had its time, asked for and cut out by requests."""

from records.changes import lines
from tests.api.asking import Api, told
from tests.factories import opened, user


def test_an_owner_lists_what_has_had_its_time_and_cuts_it_out(api, plant):
    owner = user("owner")
    owner.is_superuser = True
    owner.save()
    api = Api("owner")
    with opened() as change:
        line = lines.open(change, place=plant.flat("3"), outside_ref="Q-7")

    found = api.read("retention/", before="2026-03-03T00:00:00Z")
    made = api.do("retention.forget_outside_ref", line=line.pk)

    assert found["lines"] == [{"line": line.pk, "identifier": line.identifier}]
    assert found["sighting_count"] == 0
    assert made["words"] == [f"cut out the outside reference of line {line.identifier}"]
    assert api.do("retention.forget_person", person=user("left").pk)["things"] == []


def test_the_crew_is_refused(api, plant):
    refusal = told(api.get("retention/", before="2026-03-03T00:00:00Z"), 403, "owners_only")
    assert refusal["hint"] == "Ask an owner to do it."
    body = {"person": user("left").pk}
    told(api.post("verbs/retention/forget-person/", body), 403, "owners_only")
