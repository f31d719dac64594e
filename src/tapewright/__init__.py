"""Tapewright: the bench companion of a person who restores start-stop teleprinters and tape punches."""

__version__ = "0.1.0"
