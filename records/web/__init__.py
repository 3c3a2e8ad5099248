"""Floor 5: the pages.

A page translates: it reads with one call to `records.queries`, writes with one call to a verb of
`records.changes`, and turns a refusal into words beside the field. A rule found here is a defect:
move it down. Every form works without JavaScript.

Start from urls.py, which lists every page.
"""
