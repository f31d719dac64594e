"""Practice with the advisor: machines are dealt, faults are found, rounds are kept."""
