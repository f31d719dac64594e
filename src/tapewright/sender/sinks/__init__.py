"""Where a signal can be sent to, one file each."""
