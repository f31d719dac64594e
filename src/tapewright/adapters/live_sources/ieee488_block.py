r"""Blocks of binary data as IEEE 488.2 lays them out.

Picture:

    # 2 16 ................    definite (8.7.9): one digit says how many digits the length has, then so many bytes
    # 0 ...........  NL        indefinite (8.7.10): all up to the end of the message (ending with NL: from memory)
"""

from tapewright.errors import InputError


def data_of(message: bytes, source: str) -> bytes:
    """Give the data of a message that holds one block.

    Raises:
        InputError: when it holds none, or less than it promises.
    """

    def no(expected: str, found: str) -> InputError:
        return InputError(source, place="its block of data", expected=expected, found=found,
                          do="Ask the instrument for binary data; see its profile.")  # fmt: skip

    if message[:1] != b"#" or not message[1:2].isdigit():
        raise no("# and a digit (IEEE 488.2, 8.7.9)", repr(bytes(message[:12])))
    digits = int(message[1:2])
    if digits == 0:
        return message[2:-1] if message.endswith(b"\n") else message[2:]
    length = message[2 : 2 + digits]
    if len(length) < digits or not length.isdigit():
        raise no(f"a length of {digits} digits", repr(bytes(length)))
    data = message[2 + digits : 2 + digits + int(length)]
    if len(data) < int(length):
        raise no(f"{int(length)} bytes", f"{len(data)}")
    return data
