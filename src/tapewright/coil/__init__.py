"""The magnet: coil, supply and suppression; when it operates and releases; what its current says."""
