"""The columns of a file of readings, in the words by which people call them.

The words are the trade's. No maker's own file is read here: what a meter writes is saved as CSV
and given a header.
"""

from records.intake._columns import Column, Layout

READINGS = Layout(
    each_row="reading",
    columns=(
        Column(
            name="where",
            label="Where",
            means="where the meter was put: a tag's code, a port by name such as leg 3 of S1, or "
            "a flat's address, which is its home terminal or else its outlet",
            also=(
                *("point", "port", "tag", "tag code", "code", "test point", "measuring point"),
                *("measured at point", "address", "flat", "flat address", "location", "place"),
            ),
            is_needed=True,
        ),
        Column(
            name="wavelength_nm",
            label="Wavelength",
            means="as set on the meter, in nm",
            also=("wave length", "lambda", "colour of light"),
            is_needed=True,
            unit="nm",
        ),
        Column(
            name="direction",
            label="Direction",
            means="down, to the home, or up, to the OLT; empty is down",
            also=("way", "stream", "up or down", "down or up"),
        ),
        Column(
            name="level_dbm",
            label="Level",
            means="in dBm, or 'no light'",
            also=(
                *("power", "optical power", "received power", "reading", "measured level"),
                *("light level", "measured power", "rx", "rx power", "rx level", "result"),
            ),
            is_needed=True,
            unit="dBm",
        ),
        Column(
            name="meter",
            label="Meter",
            means="which meter: its type or serial",
            also=("power meter", "instrument", "meter serial", "meter no", "meter name"),
        ),
        Column(
            name="uncertainty_db",
            label="Uncertainty",
            means="what the meter may be off either way, in dB; empty is 0.5",
            also=("accuracy", "tolerance", "meter uncertainty", "meter accuracy"),
            unit="dB",
        ),
        Column(
            name="person",
            label="Person",
            means="who held the meter, by the name they sign in with; empty is whoever takes the "
            "file in",
            also=(
                *("who", "by", "taken by", "read by", "measured by", "user", "operator"),
                *("technician", "installer", "engineer", "fitter"),
            ),
        ),
        Column(
            name="time",
            label="Time",
            means="date and time, as 2026-03-02 09:30, in UTC unless it ends in an offset; empty "
            "is now",
            also=("date", "date time", "date and time", "when", "taken at", "timestamp", "moment"),
        ),
        Column(
            name="note",
            label="Note",
            means="kept with the reading",
            also=("notes", "remark", "remarks", "comment", "comments"),
        ),
    ),
    ambiguous={},
    is_strict=True,
    split_by="day or building",
    where_empty="every row needs them",
)
