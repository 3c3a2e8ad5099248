"""The demo: Alder Court, an invented estate of 150 dwellings, built by the verbs over ten weeks.

`build` tells the story: catalogue, head-end, feeder, three blocks from their crews' sheets
(fixtures/demo), a row of cottages, labels, and what happened since. Each module is a chapter; each
change has a day and a reason, so that history has something to show. Nothing here is real, and
nothing is written but by verbs and by the intake. What prints its labels comes in as an argument.
"""

from records.intake.scenario._diary import ESTATE
from records.intake.scenario._standing import Standing, standing
from records.intake.scenario._story import build
from records.intake.scenario._tries import Try, what_to_try

__all__ = ["ESTATE", "Standing", "Try", "build", "standing", "what_to_try"]
