"""Trim: from trials of knobs and what the gauges read, to the next move and how sure it is."""
