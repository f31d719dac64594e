"""Where the recordings of watches lie until they are in the book."""

from pathlib import Path


def recordings_folder(where: str | None) -> Path:
    """Give the folder: beside the book, else in the user's data folder; not among what a restart throws away."""
    from tapewright.adapters.book.place import data_folder, place_of

    file = place_of(where).file
    return data_folder() / "recordings" if file is None else file.with_name(f"{file.name}.recordings")
