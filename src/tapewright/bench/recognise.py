"""What a file is, from its first bytes: a picture of tape, a capture, or nothing the bench can read."""

from tapewright.recordings.files.formats import FORMATS
from tapewright.recordings.files.raw_file import NAME as RAW

#: first bytes of the kinds of picture that can be read (PNG, JPEG, TIFF both ways, WebP by its RIFF form)
PICTURES = (b"\x89PNG\r\n\x1a\n", b"\xff\xd8\xff", b"II*\x00", b"MM\x00*")


def recognise(head: bytes, *, rate_given: bool) -> str | None:
    """Return "tape" for a picture, "line" for a capture, None for neither."""
    if head.startswith(PICTURES) or (head[:4] == b"RIFF" and head[8:12] == b"WEBP"):
        return "tape"
    known = [each for each in FORMATS if each.NAME != RAW or rate_given]
    return "line" if any(each.looks_like(head) for each in known) else None
