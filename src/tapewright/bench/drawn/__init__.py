"""Where things stand that the pages draw on the server: plain numbers for the templates, no markup."""
