"""What the measuring commands share."""


def no_progress(_: float) -> None:
    """Tell nobody."""
