"""Floor 4: labels, from plain values to sheets and rolls that scan.

What lives here: what each kind of label may show (design.py), where it stands on the label
(layout.py, cable_layout.py, caution.py), the stock it is printed on (stock.py) and the printers'
files (sheet_pdf.py, roll_png.py, neutral_sheet.py), all from plain values; and what the record
says of it: which things get a label (items.py, choices.py), a run with its codes (runs.py), how
printed labels stand (standing.py), the owner's rules (owner.py). What must not: writes of its
own, which go through the verbs, and any text that design.py has no field for; a label says
little, the record says all.

Lengths are millimetres from the top left corner, of a label or of a page. Nothing is scaled to
fit: a QR module is a whole number of printer dots, or the label is refused or falls to text with
the reason. Start from `label` in design.py, `lay_out` in layout.py and `lay_out` in runs.py.
"""
