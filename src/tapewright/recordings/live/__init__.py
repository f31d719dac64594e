"""Live sources, one file each. To add one: a file like the others, one line in `SOURCES` of sources.py."""
