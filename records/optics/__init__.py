"""Floor 0: the arithmetic of light, pure Python.

What lives here: decibels and levels, optical classes, losses as least, typical and most, and the
verdicts at a receiver. What must not: Django, files, clocks, chance; and a figure without the
published source it comes from.

Every quantity carries its unit in its name: `loss_db`, `level_dbm`, `length_m`, `wavelength_nm`.
"""
