"""Forms: one class a verb, found by the verb's name.

A form knows the shape of what a verb takes: types, choices, units, help in the trade's words. Its
field names are the verb's own, so that `/do/joints.join/?a=12` fills it and a refusal finds its
field. Rules stay in the verbs. Start from verb_form.py.
"""

from records.web.forms import (
    bookings,
    cables,
    catalogue,
    channels,
    equipment,
    hazards,
    joints,
    lines,
    places,
    readings,
    renumbering,
    retention,
    tags,
    works,
)
from records.web.forms.verb_form import VerbForm

GROUPS: dict[str, tuple[type[VerbForm], ...]] = {
    "Joints": (joints.Join, joints.Patch, joints.Part, joints.Measure, joints.Unmeasure),
    "Bookings": (
        bookings.Book,
        bookings.Move,
        bookings.Release,
        bookings.Bar,
        bookings.Unbar,
        bookings.Measure,
        bookings.Unmeasure,
    ),
    "Readings": (readings.Read, readings.TakeBack),
    "Cables and fibres": (
        cables.Lay,
        cables.Measure,
        cables.Unmeasure,
        cables.Damage,
        cables.Mend,
        cables.Rename,
        cables.Remove,
    ),
    "Equipment": (equipment.Install, equipment.Move, equipment.Rename, equipment.Remove),
    "Light": (channels.Light, channels.Darken, channels.Measure, channels.Unmeasure),
    "Places and lines": (places.Add, places.Rename, places.Retire, places.Reinstate, lines.Open),
    "Tags": (tags.Bind, tags.Void),
    "Catalogue": (
        catalogue.Add,
        catalogue.Supersede,
        catalogue.Confirm,
        catalogue.Unconfirm,
    ),
    "Hazard statements": (hazards.State, hazards.Withdraw),
    "Works of several steps": (
        works.SwapEquipment,
        works.SwapCable,
        works.Cut,
        works.Reroute,
        renumbering.Renumber,
        works.RetireBuilding,
    ),
    "For an owner: what has had its time": (
        retention.ForgetOutsideRef,
        retention.ForgetPerson,
        retention.ForgetSightings,
    ),
}
"""The forms as the page of all of them lists them."""

FORMS: dict[str, type[VerbForm]] = {form.verb: form for group in GROUPS.values() for form in group}

WITHOUT_FORM = {
    "catalogue.load": "loads files that stand beside the program; the loading command does it",
    "readings.read_all": "a round comes as a meter's file, taken in on a page of its own",
    "tags.bind_all": "a crew binds what it scans, one tag after the other",
    "tags.issue": "codes are issued where they are printed, on the page of label sheets",
    **dict.fromkeys(
        (
            "label_rules.describe_stock",
            "label_rules.forget_stock",
            "label_rules.nudge",
            "label_rules.settle",
            "prints.record",
            "prints.spoil",
            "prints.void_blanks",
        ),
        "labels are laid out, printed and settled on pages of their own",
    ),
    "catalogue.take_over": "a task of many changes, run and watched on a page of its own",
    **dict.fromkeys(
        (
            "jobs.draft",
            "jobs.edit",
            "jobs.approve",
            "jobs.mark_built",
            "jobs.unmark_built",
            "jobs.drop",
        ),
        "a job is a list of steps that is worked on for days; it has pages of its own",
    ),
}
"""The verbs that have no form, and why."""
