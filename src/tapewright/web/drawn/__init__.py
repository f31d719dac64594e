"""Places of what the pages draw on the server: plain numbers for the templates, in per cent of a width. No markup here."""
