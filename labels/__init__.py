"""Floor 4: labels, from plain values to sheets and rolls that scan.

What lives here: what each kind of label may show (design.py), where it stands on the label
(layout.py, cable_layout.py, caution.py), the stock it is printed on (stock.py) and the printers'
files (sheet_pdf.py, roll_png.py, neutral_sheet.py). What must not: writes, and any text that
design.py has no field for; a label says little, the record says all.

Lengths are millimetres from the top left corner, of a label or of a page. Nothing is scaled to
fit: a QR module is a whole number of printer dots, or the label is refused or falls to text with
the reason. Start from `label` in design.py, `lay_out` in layout.py and `sheet_pdf`.
"""
