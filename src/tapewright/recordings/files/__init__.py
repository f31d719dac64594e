"""Recorded captures from files: one file per format, one line in the registry, recognised by content."""
