"""The CSV files of a place: a sheet of flats, schedules and readings, as it stands or stood.

`EXPORTS` in files.py lists them; `export` there makes one. flats_sheet.py writes homes in the
columns of a crew's sheet: home_wiring.py says how each home is wired, flats_types.py which types
to assume, flats_left_out.py and flats_differing.py what the sheet can't say. schedules.py and
readings_sheet.py make the others. Below them: names.py (what things are called), left_out.py
and tables.py (how a table is written).
"""
