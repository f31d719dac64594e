"""Who may speak to the bench, and what a page may do.

callers     only from this machine, by its own name, and from its own pages
sharing     a second bench on the local network, only when asked for, by a pairing code
keys        a write brings both keys of this start
headers     what every answer says a browser must not do
"""
