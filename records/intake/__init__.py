"""Floor 4: documents in. A crew's sheet, one row a flat, becomes places, plant and bookings.

Three stages, each usable alone:

    sheet = intake.load(file)                       # bytes to rows; UnreadableError
    plan = intake.check(sheet, estate="Alder Court")  # against itself and the record; reads only
    intake.commit(plan, actor=user, at=now)         # the verbs, one change; FaultsError

A plan lists what is new, what is there already and every fault with its row and column; what the
sheet doesn't say is in `Assumptions`. `rehearse` finds what only the verbs can see. Taking the
same sheet in again adds nothing. What must not live here: rules of the plant (records/changes
has them), pages, files by name. Start from _check.py, then _commit.py and _build.py.
"""

from records.intake._assumptions import Assumed, Assumptions, assumed
from records.intake._check import check
from records.intake._columns import COLUMNS, Column
from records.intake._commit import TAKE_IN, Progress, commit, rehearse
from records.intake._faults import Fault, FaultsError, Remark, UnreadableError
from records.intake._plan import Count, Item, Kind, Plan, RowPlan
from records.intake._sheet import MAX_BYTES, MAX_ROWS, Row, Sheet, load, read

__all__ = [
    "COLUMNS",
    "MAX_BYTES",
    "MAX_ROWS",
    "TAKE_IN",
    "Assumed",
    "Assumptions",
    "Column",
    "Count",
    "Fault",
    "FaultsError",
    "Item",
    "Kind",
    "Plan",
    "Progress",
    "Remark",
    "Row",
    "RowPlan",
    "Sheet",
    "UnreadableError",
    "assumed",
    "check",
    "commit",
    "load",
    "read",
    "rehearse",
]
