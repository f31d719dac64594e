"""From all the evidence to the part at fault, and the next cheapest test."""
