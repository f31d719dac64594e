"""A machine's requirements, gauge readings, the order of adjustment, and trim."""
