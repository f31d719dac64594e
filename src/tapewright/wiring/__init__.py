"""The only folder that knows which adapter serves which port; what a function needs is loaded when it is called."""
