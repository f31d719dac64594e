"""The line signal, from a recording to the contact that makes it wrong.

capture > edges > transitions > frames > instants > timing > receiver > text > verdict
"""
