"""Steps that bring an older book up to date; run by `adapters.book.migrate`."""
