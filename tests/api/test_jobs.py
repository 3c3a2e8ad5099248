"""Jobs: drafted, previewed, approved, recorded; all by requests."""

from django.contrib.auth import get_user_model

from records.models import Booking, Change, Job
from tests.api.asking import Api, address_of, told


def drafted(api, plant, leg="T.4"):
    """Draft a job that books a leg for flat 3 and renames the flat."""
    made = api.do(
        "jobs.draft",
        name="Connect flat 3",
        place=plant.riser,
        reference="W-17",
        due_date="2026-03-09",
        steps=[
            {
                "verb": "bookings.book",
                "arguments": {"leg": plant[leg], "line": plant.line("3")},
                "note": "tail is labelled",
            },
            {"verb": "places.rename", "arguments": {"place": plant.flat("3"), "name": "Flat 3A"}},
        ],
    )
    (thing,) = made["things"]
    return thing["id"]


def approved(api, job):
    assert api.post(f"jobs/{job}/preview/").status_code == 200
    Api("lead").do("jobs.approve", job=job, revision=1)


def test_a_job_is_recorded_in_one_change_and_repeating_that_is_harmless(api, plant):
    job = drafted(api, plant)
    approved(api, job)

    first = api.post(f"jobs/{job}/commit/", {"revision": 1, "reason": "done"})
    again = api.post(f"jobs/{job}/commit/", {"revision": 1, "reason": "done"})

    assert first.status_code == 200, first.content
    assert first.json()["is_repeat"] is False
    assert again.json() == {"number": first.json()["number"], "is_repeat": True}
    assert Booking.objects.filter(leg=plant["T.4"]).count() == 1
    row = api.read(f"jobs/{job}/")
    assert (row["state"], row["done_count"]) == ("recorded", 2)
    assert row["steps"][0]["change"] == first.json()["number"]


def test_a_jobs_steps_can_be_ticked_one_by_one(api, plant):
    job = drafted(api, plant)
    approved(api, job)

    told(api.post(f"jobs/{job}/tick/", {"step": 2}), 409, "step_not_next")
    assert api.post(f"jobs/{job}/tick/", {"step": 1}).status_code == 200
    assert api.post(f"jobs/{job}/tick/", {"step": 1}).json()["is_repeat"]
    assert api.post(f"jobs/{job}/tick/", {"step": 2}).status_code == 200
    assert api.read("jobs/", state="recorded", reference="w-17")["count"] == 1


def test_a_preview_commits_nothing_and_tells_the_clash(api, plant):
    job = drafted(api, plant, leg="T.2")
    before = Change.objects.count()

    report = api.post(f"jobs/{job}/preview/").json()

    assert report["clash"]["code"] == "leg_booked"
    assert report["clash"]["step"] == 1
    assert Change.objects.count() == before
    assert api.read(f"jobs/{job}/")["preview"] == report
    approval = {"job": job, "revision": 1}
    told(Api("lead").post(address_of("jobs.approve"), approval), 409, "job_clashes")


def test_nobody_approves_their_own_plan_but_an_owner(api, plant):
    job = drafted(api, plant)
    assert api.post(f"jobs/{job}/preview/").status_code == 200

    approval = {"job": job, "revision": 1}
    problem = told(api.post(address_of("jobs.approve"), approval), 403, "own_plan")
    assert "planned by crew" in problem["detail"]
    get_user_model().objects.filter(username="crew").update(is_superuser=True)
    made = api.do("jobs.approve", job=job, revision=1)

    assert "approved by its own planner" in made["words"][0]
    read = api.read(f"jobs/{job}/")
    assert (read["planned_by"], read["is_approved_by_planner"]) == ("crew", True)


def test_a_step_that_can_not_be_read_is_named(api, plant):
    body = {"name": "X", "place": plant.riser, "steps": [{"verb": "places.paint"}]}

    problem = told(api.post(address_of("jobs.draft"), body), 422, "step_malformed")

    assert problem["detail"].startswith("Step 1: ")
    assert problem["field"] == "steps.1.verb"


def test_jobs_are_found_by_place_and_state(api, plant):
    job = drafted(api, plant)

    assert [each["id"] for each in api.read("jobs/", inside=plant.building)["results"]] == [job]
    assert api.read("jobs/", open="false")["count"] == 0
    assert api.read("jobs/", assignee="crew")["count"] == 0


def test_a_job_that_is_not_there_is_missing(api):
    for deed, body in (("preview", {}), ("commit", {"revision": 1}), ("tick", {"step": 1})):
        told(api.post(f"jobs/999/{deed}/", body), 404, "missing")
        told(api.post(f"jobs/999/{deed}/", {**body, "colour": 1}), 422, "malformed")


SHEET = "Verb;Leg;Line\nbook leg;leg {leg} of T;Flat 3\n"


def test_a_job_is_drafted_from_a_sheet(api, plant):
    body = {"name": "Connect", "place": plant.building, "sheet": SHEET.format(leg=4)}

    answer = api.post("jobs/from-sheet/", body)

    assert answer.status_code == 201, answer.content
    assert answer.json()["remarks"] == []
    steps = api.read(f"jobs/{answer.json()['job']['id']}/")["steps"]
    assert steps[0]["arguments"] == {"leg": plant["T.4"], "line": plant.line("3")}


def test_a_sheet_sent_again_with_its_key_drafts_no_second_job(api, plant):
    body = {"name": "Connect", "place": plant.building, "sheet": SHEET.format(leg=4)}
    body["due_date"] = "2026-03-09"

    first = api.post("jobs/from-sheet/", body, Idempotency_Key="k1")
    again = api.post("jobs/from-sheet/", body, Idempotency_Key="k1")

    assert first.status_code == again.status_code == 201
    assert again.json() == first.json()
    assert Job.objects.count() == 1


def test_faults_of_a_sheet_are_listed_by_row_and_column_and_nothing_is_drafted(api, plant):
    body = {"name": "Connect", "place": plant.building, "sheet": SHEET.format(leg=99)}
    before = Change.objects.count()

    problem = told(api.post("jobs/from-sheet/", body), 422, "malformed")
    assert problem["errors"][0]["field"] == "sheet, row 2, Leg"
    assert problem["errors"][0]["detail"] == "No point is called 'leg 99 of T'."

    told(api.post("jobs/from-sheet/", {**body, "sheet": "x"}), 422, "malformed")
    assert Change.objects.count() == before
