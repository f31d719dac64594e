"""From a raw recording to what a plot of it needs: as many points as it has room for, and nothing left out.

    recording --once--> pyramid of least and greatest values --each zoom--> window --wire--> arrays for the page

A spike of one sample among a hundred million is seen at every zoom: each point of a window is the least and the
greatest of all the samples it stands for.
"""
