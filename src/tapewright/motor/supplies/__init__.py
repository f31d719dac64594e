"""Programmable supplies: over SCPI, on the practice machine, or a person's hand."""
