"""The book in a database: one SQLite file, or PostgreSQL for a workshop with several benches.

How it opens: place > engine > migrate > sql_book. How a line is kept: rows, shelf, raw_files.
"""
