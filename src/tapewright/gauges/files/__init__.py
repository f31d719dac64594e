"""Sheets, journals of readings and trial files: read with one message per fault, written for the next reader."""
