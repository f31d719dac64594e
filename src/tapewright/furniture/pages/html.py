"""Pages as one HTML file: nothing loaded from elsewhere, no script, prints well, reads in black and white."""

from collections.abc import Callable, Iterable, Mapping
from html import escape
from typing import Any

from tapewright.furniture.pages.blocks import (
    Answers,
    Block,
    Bullets,
    Caution,
    Cell,
    Counts,
    Facts,
    Lines,
    Pages,
    Picture,
    Section,
    Table,
    Text,
    Verdicts,
)
from tapewright.furniture.pages.printable import shape_svg

STYLE = """
:root{color-scheme:light}
body{font:16px/1.45 system-ui,sans-serif;color:#22262B;background:#FFFDF7;margin:0 auto;padding:8mm;max-width:200mm;
font-variant-numeric:tabular-nums;overflow-wrap:anywhere}
h1{font-size:32px;margin:0}h2{font-size:22px;border-bottom:2px solid;margin:12mm 0 4mm;padding-bottom:1mm}
h3,h2.asked{font-size:18px;margin:5mm 0 1mm;border:0;padding:0}p{margin:2mm 0}
.quiet,small,dt,figcaption,footer{color:#5A5F66;font-size:14px}
ul,ol{margin:1mm 0;padding-left:6mm}li{margin:1mm 0}.answers li{font-size:17px}
dl{display:grid;grid-template-columns:minmax(30mm,max-content) 1fr;gap:1mm 5mm;margin:2mm 0}
dd{margin:0;white-space:pre-line}
.wide{overflow-x:auto}table{border-collapse:collapse;width:100%;font-size:15px;margin:3mm 0}
caption{position:absolute;width:1px;height:1px;overflow:hidden;clip-path:inset(50%)}
th{text-align:left;border-bottom:2px solid;font-size:14px;vertical-align:bottom}
td,th{padding:1mm 2mm 1mm 0;vertical-align:top}
td{border-bottom:1px solid #A9A79F;overflow-wrap:anywhere;white-space:pre-line}td small{display:block}
th.group{padding-top:4mm;border-bottom:1px solid #A9A79F;font-size:15px}
pre{white-space:pre-wrap}
code,pre{font:13px/1.35 ui-monospace,monospace}.box{display:inline-block;width:4.5mm;height:4.5mm;border:1.5px solid}
svg.shape{height:.8em;width:auto;vertical-align:-.05em;margin-right:.3em}
.counts{display:flex;flex-wrap:wrap;gap:4mm 12mm;margin:5mm 0;font-size:20px}.counts b{font-size:32px;margin-right:2mm}
.caution{border-left:4px solid;padding:1mm 0 1mm 4mm;margin:3mm 0}
figure{margin:5mm 0}figure svg{width:100%;height:auto}footer{margin-top:12mm;border-top:1px solid}
@media print{body{background:none;padding:0;max-width:none;font-size:11pt}h2{break-after:avoid}
tr,figure,.caution{break-inside:avoid}
.new-page{break-before:page}thead{display:table-header-group}@page{margin:16mm}}
"""


def pages_html(pages: Pages) -> str:
    """Return the whole file; the same pages give the same text."""
    body = "\n".join(_section(section) for section in pages.sections)
    title = _words(pages.title)
    return (
        f'<!doctype html>\n<html lang="en">\n<head>\n<meta charset="utf-8">\n'
        f'<meta name="viewport" content="width=device-width, initial-scale=1">\n<title>{title}</title>\n'
        f"<style>{STYLE}</style>\n</head>\n<body>\n<header><h1>{title}</h1>\n"
        f'<p class="quiet">{_words(pages.subtitle)}</p></header>\n<main>\n{body}\n</main>\n'
        f"<footer>{_words(pages.running)}</footer>\n</body>\n</html>\n"
    )


def _words(text: str) -> str:
    """Escape a text; control signs that HTML forbids stand as a replacement sign."""
    kept = "".join(c if c in "\n\t" or (c >= " " and c != "\x7f" and not "\ud800" <= c <= "\udfff") else "\ufffd"
                   for c in text)  # fmt: skip
    return escape(kept)


def _section(section: Section) -> str:
    heading = f"<h2>{_words(section.heading)}</h2>\n" if section.heading else ""
    new_page = ' class="new-page"' if section.new_page else ""
    blocks = blocks_html(section.blocks)
    if not heading:  # no level is left out between the title and what the first section asks (its words are escaped)
        blocks = blocks.replace("<h3>", '<h2 class="asked">').replace("</h3>", "</h2>")
    return f"<section{new_page}>{heading}{blocks}</section>"


def blocks_html(blocks: Iterable[Block]) -> str:
    """Return blocks as they stand in a page; every word is escaped."""
    return "\n".join(BLOCKS[type(block)](block) for block in blocks)


def _list(items: Iterable[str], tag: str = "ul") -> str:
    return f"<{tag}>" + "".join(f"<li>{_words(item)}</li>" for item in items) + f"</{tag}>"


def _text(block: Text) -> str:
    return f'<p class="quiet">{_words(block.text)}</p>' if block.quiet else f"<p>{_words(block.text)}</p>"


def _bullets(block: Bullets) -> str:
    head = f"<h3>{_words(block.head)}</h3>" if block.head else ""
    return head + _list(block.items, "ol" if block.numbered else "ul")


def _lines(block: Lines) -> str:
    return f"<pre>{_words(chr(10).join(block.lines))}</pre>"


def _facts(block: Facts) -> str:
    return "<dl>" + "".join(f"<dt>{_words(k)}</dt><dd>{_words(v)}</dd>" for k, v in block.pairs) + "</dl>"


def _table(block: Table) -> str:
    head = "".join(f'<th scope="col">{_words(h)}</th>' for h in block.head)
    rows = "\n".join(_row(row, len(block.widths)) for row in block.rows)
    share = 100 / sum(block.widths)
    columns = "".join(f'<col style="width:{w * share:.1f}%">' for w in block.widths)
    return (
        f'<div class="wide"><table><caption>{_words(block.caption)}</caption><colgroup>{columns}</colgroup>'
        f"<thead><tr>{head}</tr></thead><tbody>\n{rows}\n</tbody></table></div>"
    )


def _row(row: Any, columns: int) -> str:
    if row and row[0].span:
        return f'<tr><th class="group" scope="colgroup" colspan="{columns}">{_words(row[0].text)}</th></tr>'
    return "<tr>" + "".join(f"<td>{_cell(cell)}</td>" for cell in row) + "</tr>"


def _cell(cell: Cell) -> str:
    said, quiet = _words(cell.text), _words(cell.quiet)
    box = '<span class="box"></span>' if cell.box else ""
    shape = _shape(cell.state) if cell.state else ""
    if cell.mono:
        said, quiet = f"<code>{said}</code>", f"<code>{quiet}</code>" if quiet else ""
    return f"{box}{shape}{said}" + (f"<small>{quiet}</small>" if quiet else "")


def _shape(state: str) -> str:
    """Return the shape without a name of its own: the word stands beside it."""
    return shape_svg(state).replace("<svg ", '<svg class="shape" aria-hidden="true" ', 1).replace("\n", "")


def _picture(block: Picture) -> str:
    return f"<figure>{block.svg}<figcaption>{_words(block.shows)}</figcaption></figure>"


def _caution(block: Caution) -> str:
    return f'<p class="caution"><b>Caution.</b> {_words(block.text)}</p>'


def _counts(block: Counts) -> str:
    counts = "".join(f"<span><b>{n}</b>{_shape(s)}{_words(s)}</span>" for s, n in block.counts)
    return f'<p class="counts">{counts}</p>'


def _answers(block: Answers) -> str:
    return f'<div class="answers"><h3>{_words(block.question)}</h3>{_list(block.answers)}</div>'


BLOCKS: Mapping[type[Block], Callable[[Any], str]] = {
    Text: _text, Lines: _lines, Bullets: _bullets, Facts: _facts, Table: _table, Picture: _picture, Caution: _caution,
    Counts: _counts, Answers: _answers, Verdicts: lambda block: _table(block.table()),
}  # fmt: skip
