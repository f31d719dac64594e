"""From samples or change lists to every edge of every channel, none debounced.

blocks (where something happens) > levels (what high and low are) > analogue, logic, lists (the instants) >
coupling, restored (sound that lost its idle level) > slow (does the bias follow the threshold?) > extract
"""
