"""Samples and edges of a line or a current: files in, live sources, and the instants of every change."""
