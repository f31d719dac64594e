"""From raw files and settings to a report and its document: one way for the command line, the pages and the book.

The settings are what the user said, as JSON holds it, so that the book can keep them and measure again later.
"""
