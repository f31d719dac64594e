"""Test signals to files: one file per format, one line in the registry, the suffix decides."""
