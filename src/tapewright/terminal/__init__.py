"""The command line: one file per noun. Options in, one `app` call, a report or JSON out."""
