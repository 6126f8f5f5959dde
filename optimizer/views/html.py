"""Pages that stand by themselves: one file, no network, every word from a project escaped."""

from collections.abc import Iterable, Sequence
from html import escape

from optimizer.views.drawings.canvas import Canvas
from optimizer.views.page_style import STYLE

HEAD = """<!DOCTYPE html>
<html lang="en">
<head>
<meta charset="utf-8">
<meta name="viewport" content="width=device-width, initial-scale=1">
<meta http-equiv="Content-Security-Policy" content="default-src 'none'; style-src 'unsafe-inline'; script-src 'unsafe-inline'; img-src data:">
<link rel="icon" href="data:,">
"""  # noqa: E501
FIGURES = frozenset("0123456789+-.,% ")


def page(title: str, content: Iterable[str], script: str = "") -> str:
    """A whole page around its content, which is HTML; title is plain words."""
    tail = f"<script>{script}</script>\n" if script else ""
    body = "\n".join(content)
    return (
        f"{HEAD}<title>{escape(title)}</title>\n<style>{STYLE}</style>\n</head>\n"
        f"<body>\n<main>\n{body}\n</main>\n{tail}</body>\n</html>\n"
    )


def heading(level: int, words: str) -> str:
    """A heading of plain words."""
    return f"<h{level}>{escape(words)}</h{level}>"


def paragraph(words: str, kind: str = "") -> str:
    """A paragraph of plain words."""
    return f"<p{_kind(kind)}>{escape(words)}</p>"


def bullets(lines: Sequence[str], kind: str = "") -> str:
    """A list of plain sentences; nothing for none."""
    items = "".join(f"<li>{escape(line)}</li>" for line in lines)
    return f"<ul{_kind(kind)}>{items}</ul>" if items else ""


def figure(drawing: Canvas, caption: str = "", wide: bool = False) -> str:
    """A drawing with plain words below; a wide one scrolls sideways on a narrow screen."""
    said = f"<figcaption>{escape(caption)}</figcaption>" if caption else ""
    shown = drawing.to_html()
    inside = f'<div class="wide" tabindex="0" role="group" aria-label="drawing, scrolls">{shown}</div>'
    return f"<figure>{inside if wide else shown}{said}</figure>"


class Html(str):
    """Words that are HTML already, in a cell of a table."""


def words(plain: str) -> Html:
    """Plain words as HTML; in a table a column of these is never taken for figures."""
    return Html(escape(plain))


def table(
    caption: str,
    heads: Sequence[str],
    rows: Iterable[Sequence[str]],
    marks: Sequence[str] = (),
    long: Sequence[str] = (),
) -> str:
    """A table of plain words or `Html`: first cell of a row its header, figures to the right.

    marks : an attribute for each row, as HTML; long : heads of columns of long words, which may wrap
    """
    cells = [list(row) for row in rows]
    numeric = [
        any(row[column] for row in cells)
        and all(set(row[column]) <= FIGURES and not isinstance(row[column], Html) for row in cells)
        for column in range(len(heads))
    ]
    head = "".join(
        f'<th scope="col"{_kind("n" if number else "")}>{escape(name)}</th>'
        for name, number in zip(heads, numeric, strict=True)
    )
    body = []
    for number, row in enumerate(cells):
        inside = "".join(
            _cell(cell, column == 0, numeric[column], heads[column] in long) for column, cell in enumerate(row)
        )
        body.append(f"<tr{marks[number] if marks else ''}>{inside}</tr>")
    said = f"<caption>{escape(caption)}</caption>" if caption else ""
    return (
        f'<div class="wide" tabindex="0" role="group" aria-label="{escape(caption or "table")}"><table>'
        f"{said}<thead><tr>{head}</tr></thead><tbody>{''.join(body)}</tbody></table></div>"
    )


def _cell(words: str, first: bool, numeric: bool, long: bool) -> str:
    inside = words if isinstance(words, Html) else escape(words)
    if first:
        return f'<th scope="row">{inside}</th>'
    return f"<td{_kind('n' if numeric else 'w' if long else '')}>{inside}</td>"


def _kind(kind: str) -> str:
    return f' class="{kind}"' if kind else ""
