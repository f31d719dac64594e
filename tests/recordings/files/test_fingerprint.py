"""SHA-256 against the example of the standard."""

from tapewright.recordings.files.on_disk import sha256


def test_message_of_the_standard(tmp_path):
    # FIPS 180-2, appendix B.1: the message "abc"
    (tmp_path / "a").write_bytes(b"abc")
    assert sha256(tmp_path / "a") == "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad"
