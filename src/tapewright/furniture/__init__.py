"""What every room is furnished with: documents, settings, commands, pages, plots, files written whole."""
