"""The bench: the page beside the machine. Pages are drawn from documents; each document can be had by itself."""
