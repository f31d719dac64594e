"""Watching a line from the bench: a process that watches, what it has told, and the stream of it to the pages."""
