"""The practice machine: known truth for demo, tests and teaching. Measuring code never imports it."""
