"""The only file that knows which adapter serves which port."""
