"""The measuring core: numpy arrays and frozen dataclasses in, values out; no I/O, no clock, no global randomness.

measurement   reading, limit with source and standing, verdict
reference     published figures, one file per document
alphabets     five-unit codes, shift as a table
comparison    what was sent against what came: alignment, kinds of error, bounded rate
line          capture > edges > transitions > frames > instants > timing > receiver > text > verdict
tape          picture > strip > feed row > holes > rows > geometry > text > verdict
mechanism     sheet of requirements, gauge readings, order of adjustment, trim
magnet        coil, supply, suppression; operate and release; what a recorded current says
diagnosis     machine model, evidence, belief, next test
simulate      the practice machine: known truth, never imported by the measuring code
"""
