"""A bundle: a machine, or a whole book, as plain files that another bench can check and take in.

Picture:

    members     what may be in a bundle, and how large it may be
    manifest    the list of all members with their fingerprints
    lines       lines of the book as JSON Lines, each checked against its key
    tables      the same for people, as CSV
"""
