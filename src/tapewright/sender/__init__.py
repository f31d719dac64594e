"""The test sender: signals composed with known faults, written to files, sent to machines."""
