"""Find the two ends of a receiver's orientation range in the fewest questions."""
