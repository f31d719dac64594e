"""The line while it is being watched: the same code as for a recording, fed in pieces.

learning (the levels) > live_edges > edge_ring > settling (characters as they complete) > running (figures of the last
characters) > stretches, trials (before and after a turn of a screw) > soak (hours, in constant memory) > live_line
(all of it); helper: who makes the figures, so that no character waits for them
"""
