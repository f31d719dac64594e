"""The book: what is known of each machine, written line after line, nothing ever rubbed out."""
