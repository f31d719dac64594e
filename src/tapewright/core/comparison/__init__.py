"""What was sent against what came: alignment, kinds of error, a bound on the rate. Line and tape share it."""
