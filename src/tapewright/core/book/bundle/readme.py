"""The page that lies in every bundle, for whoever opens it without the program."""

README_TEXT = """\
This is a bundle of Tapewright: the record of one machine, or of a workshop's whole book, as plain files.

  manifest.json   every other file with its length and SHA-256 fingerprint
  entries.jsonl   the lines of the book, oldest first, one JSON object a line
  keys.txt        the key of each line, in the same order: the SHA-256 of the line without its end
  machines.csv, entries.csv, files.csv   the same as tables, for reading; nothing is read back from them
  raw/            captures, pictures and other files, each named by its SHA-256 fingerprint
  left-out.jsonl  only from a damaged book: lines that could be read but whose raw file is lost, or whose key is wrong

To check it with ordinary tools, in the folder it was unpacked to:

  (cd raw && for f in *; do echo "$f  $f"; done | sha256sum --check --quiet)
  while IFS= read -r l; do printf %s "$l" | sha256sum; done < entries.jsonl | cut -c1-64 | diff - keys.txt

Both print nothing when all is whole. To take it in: tapewright book import FILE.zip

Nothing in here says that a machine is safe. For mains, loop voltage and moving parts local codes and licensed
practice rule.
"""
