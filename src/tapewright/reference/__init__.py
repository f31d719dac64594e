"""Published figures, one file per document, each with its place and standing."""
