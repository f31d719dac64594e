"""The bench page beside the machine."""
