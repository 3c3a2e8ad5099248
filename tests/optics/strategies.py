"""Values to draw, in the small ranges that logic needs."""

from hypothesis import strategies as st

from records.optics.levels import Level
from records.optics.losses import Loss

tenths_db = st.integers(0, 300).map(lambda tenths: tenths / 10)
levels_dbm = st.integers(-400, 200).map(lambda tenths: tenths / 10)


@st.composite
def losses(draw: st.DrawFn) -> Loss:
    least_db, typical_db, most_db = sorted(draw(st.tuples(tenths_db, tenths_db, tenths_db)))
    return Loss(least_db=least_db, typical_db=typical_db, most_db=most_db)


@st.composite
def levels(draw: st.DrawFn) -> Level:
    least, typical, most = sorted(draw(st.tuples(levels_dbm, levels_dbm, levels_dbm)))
    return Level(least_dbm=least, typical_dbm=typical, most_dbm=most)


chains = st.lists(losses(), min_size=1, max_size=8)
