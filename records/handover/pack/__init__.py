"""The as-built pack of a place: one PDF that a crew hands over, as the place stood at a change.

`as_built_pack` in document.py puts it together; cover.py, homes.py, legs.py, cables.py, boxes.py,
trees.py, ways.py (with budget.py), figures_used.py and deviations.py are its sections, each a
function that yields the flowables of one. Below them: told.py (what each is given), names.py
(what things are called and where they are), words.py (levels and verdicts in few words), grid.py
(tables that wrap, split and repeat their heads), type_set.py (text in any language), painting.py
(a picture's shapes into a PDF), pages.py (heads, feet, contents). Figures are read by
queries/as_built.py.
"""
