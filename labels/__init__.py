"""Floor 4: labels, from a tag code to a sheet that is right on the wall.

What lives here: QR symbols, label designs, sheets and rolls in millimetres, and the drawing of
pages as PDF or one-bit picture. What must not: addresses, occupants or services on a label, and
any write to the plant (records/changes does that).
"""
