"""Does a picture file end where it should? Each kind says so in its own way; decoders often fill up with grey."""

import struct

JPEG_END = b"\xff\xd9"
#: Bytes after which a JPEG's end mark may still stand: cameras add padding and thumbnails.
TAIL = 65536


def missing_end(data: bytes) -> str:
    """Say in words what is missing at the end of the file; empty when nothing is (or the kind has no end mark)."""
    if data[:2] == b"\xff\xd8":
        return "" if JPEG_END in data[-TAIL:] else "a JPEG without its end mark: the file is cut short"
    if data[:8] == b"\x89PNG\r\n\x1a\n":
        return _png(data)
    if data[:4] == b"RIFF" and data[8:12] == b"WEBP":
        promised = struct.unpack_from("<I", data, 4)[0] + 8
        return f"{len(data)} of {promised} bytes" if promised > len(data) else ""
    return ""


def _png(data: bytes) -> str:
    """Walk the chunks: 4 bytes length, 4 bytes name, the content, 4 bytes check."""
    place = 8
    while place + 12 <= len(data):
        length, name = struct.unpack_from(">I4s", data, place)
        if name == b"IEND":
            return ""
        place += 12 + length
    return "a PNG without its last chunk: the file is cut short"
