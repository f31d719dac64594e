"""Anything at all in place of a bundle ends in a refusal, in words, and leaves no book."""

import contextlib

import hypothesis.strategies as st
from hypothesis import HealthCheck, given, settings

from fakes.bundles import refused, relined, zipped
from tapewright.book.bundle.zip_reader import ZipReader
from tapewright.book.import_book import check_bundle
from tapewright.errors import InputError
from tapewright.terminal.run import run


@settings(max_examples=60, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(data=st.binary(max_size=400), head=st.sampled_from([b"", b"PK\x03\x04", b"PK\x05\x06"]))
def test_random_bytes(book, tmp_path, data, head):
    assert refused(book, head + data, tmp_path)


@settings(max_examples=150, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(changes=st.lists(st.tuples(st.floats(0, 1), st.integers(0, 255)), min_size=1, max_size=4), cut=st.integers(0, 9))
def test_a_good_bundle_with_bytes_changed(book, good, tmp_path, changes, cut):
    data = bytearray(good)
    for place, value in changes:
        data[min(int(place * len(data)), len(data) - 1)] = value
    data = data[: len(data) - cut * (cut > 6)]
    path = tmp_path / "changed.zip"
    path.write_bytes(data)
    try:
        # some bytes of a zip mean nothing (dates, rights); then all that counts is as it was
        with ZipReader(path) as bundle:
            list(bundle.check_hashes())
            assert bundle.manifest.entries == 5
    except InputError:
        pass


@settings(max_examples=100, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(
    line=st.integers(0, 4),
    place=st.floats(0, 1),
    old=st.integers(0, 12),
    new=st.sampled_from([b"", b"null", b"[]", b"1e999", b'"', b"\\ud800", b"\xc3", b"{}", b"9" * 5000, b"\n", b"NaN"]),
)
def test_lines_with_anything_in_them_and_all_hashes_made_to_fit(members, tmp_path, line, place, old, new):
    def change(lines):
        at = int(place * len(lines[line]))
        lines[line] = lines[line][:at] + new + lines[line][at + old :]
        return lines

    (tmp_path / "odd.zip").write_bytes(zipped(relined(members, change)))
    with ZipReader(tmp_path / "odd.zip") as bundle, contextlib.suppress(InputError):
        check_bundle(bundle, "odd.zip", lambda _: None)


def test_the_command_says_it_in_one_paragraph_and_leaves_no_book(good, tmp_path, capsys):
    (tmp_path / "half.zip").write_bytes(good[:-30])
    code = run(["book", "import", str(tmp_path / "half.zip"), "--book", str(tmp_path / "none.book")])
    said = capsys.readouterr()
    assert (code, said.out) == (4, "")
    assert said.err.count("\n") == 1
    assert not (tmp_path / "none.book").exists()
