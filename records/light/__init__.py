"""Floor 1: light in the plant, pure and in whole numbers.

What lives here: a piece of plant as light meets it, and the spreading of feeds through it. What
must not: Django, I/O, a clock, tables. Inputs come as arguments, results leave as values; what is
wrong with the plant comes back as findings.

Start from `Piece` in plant.py and `spread` in spread.py.

| word here | meaning here | elsewhere also |
| --- | --- | --- |
| loss | a positive number of dB that light loses | insertion loss; sometimes negative gain |
| level | power at a point in dBm, launch minus loss | received power |
| down, up | from OLT to home, from home to OLT | downstream, upstream |
| upstream of a point | the neighbour that its down light comes from | parent |
"""
