"""The practice machine: known truth for demo, tests and teaching. Measuring code never imports it.

spans              stretches of time with their union and what is left after cutting some out
line_signal        a line between mark and space: the exact instants of its changes
motor              what turns the cam: speed, governor hunt, warming up, a cam that runs out of true
contacts           one contact: early or late, bounce, dropouts
code_bars          what a bar makes of the key pressed: stuck, missing, left over
keying             how the characters follow each other, and what the line does besides
transmitter        all of that: codes in, the line with its truth out
slow_edges         the line as a voltage with slow edges, band limited when wanted
coupling           AC coupling
instrument         what an instrument makes of a line: samples with all its sins
practice_machines  Heron and Petrel, ready to run
patterns           the usual test texts
punch              a tape punch: codes in, holes with known places and faults out
scanner            a scanner or camera: a punched tape in, a picture out
practice_punches   the punches of Heron and Petrel

Signs: late is positive, early negative; boundary k lies k units after the start instant; contact k closes at
boundary k and opens at boundary k + 1; the stop contact closes after the last element and opens at the start.
All randomness comes from the numpy Generator that is handed in.
"""
