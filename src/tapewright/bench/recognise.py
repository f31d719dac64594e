"""What a file is, from its first bytes: a picture of tape, a capture, or nothing the bench can read."""

from tapewright.recordings.files.formats import every_format, format_of, kinds

#: first bytes of the kinds of picture that can be read (PNG, JPEG, TIFF both ways, WebP by its RIFF form)
PICTURES = (b"\x89PNG\r\n\x1a\n", b"\xff\xd8\xff", b"II*\x00", b"MM\x00*")
PICTURE_KINDS = "PNG, JPEG, TIFF, WebP"


def file_kinds() -> tuple[str, str]:
    """Return the kinds of captures and of pictures that can be read, each in one line."""
    return kinds(every_format()), PICTURE_KINDS


def recognise(head: bytes, *, rate_given: bool) -> str | None:
    """Return "tape" for a picture, "line" for a capture, None for neither."""
    if head.startswith(PICTURES) or (head[:4] == b"RIFF" and head[8:12] == b"WEBP"):
        return "tape"
    return None if format_of(head, rate_given=rate_given) is None else "line"
