"""Floor 0: light in numbers, pure.

What lives here: decibels, losses, optical classes, levels, verdicts, and the published rules
around them. What must not: Django, files, a clock, tables, plant. Inputs come as arguments,
results leave as values; what is wrong with a network comes back as verdicts, what is wrong with a
call raises ValueError. Figures that a crew may change live in the catalogue, not here.

Start from `Loss` in losses.py and `receiver_verdicts` in verdicts.py.

| word here | meaning here | elsewhere also |
| --- | --- | --- |
| loss | a number of dB that light loses, never below zero | insertion loss; negative gain |
| level | power at a point in dBm | received power |
| launch | level a transmitter sends | mean launched power, Tx |
| budget | launch less sensitivity, in dB | sometimes the class's loss range, or the margin |
| margin | dB left before a limit; below zero, the limit is broken | headroom, reserve |
| penalty | dB of sensitivity that the path itself costs | path penalty, TDP |
| down, up | from OLT to home, from home to OLT | downstream, upstream |
"""
