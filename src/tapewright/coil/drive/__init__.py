"""The drive of a magnet on paper: what it will do, planned and searched."""
