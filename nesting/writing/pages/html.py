"""A few HTML elements, with every text escaped."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Sequence
from html import escape

from nesting.writing.files import one_line

__all__ = ["Markup", "element", "escaped", "items", "page", "table"]


class Markup(str):
    """Text that is HTML already."""

    __slots__ = ()


def escaped(text: str) -> str:
    """Return text that shows as it is; markup stays markup."""
    return text if isinstance(text, Markup) else escape(one_line(text), quote=True)


def element(tag: str, text: str, *, css: str = "") -> str:
    """Return an element with a text in it."""
    style = f' class="{css}"' if css else ""
    return f"<{tag}{style}>{escaped(text)}</{tag}>"


def items(lines: Iterable[str]) -> str:
    """Return a list."""
    return f"<ul>{''.join(element('li', line) for line in lines)}</ul>"


def table(
    head: Sequence[str],
    rows: Iterable[Sequence[str]],
    *,
    caption: str,
    numbers: Collection[int] = (),
    foot: Iterable[Sequence[str]] = (),
    named: int = 0,
) -> str:
    """Return a table that scrolls by itself where the page is narrower.

    `caption`: what it is, for those who hear the page; `numbers`: the columns set to the
    right; `named`: the column in which each row's name stands.
    """

    def cell(tag: str, text: str, i: int) -> str:
        css = ' class="n"' if i in numbers else ""
        if tag == "td":
            return f"<td{css}>{escaped(text)}</td>"
        return f'<th scope="{tag}"{css}>{escaped(text)}</th>'

    def line(cells: Sequence[str]) -> str:
        done = [cell("row" if i == named and c else "td", c, i) for i, c in enumerate(cells)]
        return f"<tr>{''.join(done)}</tr>"

    top = "".join(cell("col" if name else "td", name, i) for i, name in enumerate(head))
    body, end = "".join(map(line, rows)), "".join(map(line, foot))
    tail = f"<tfoot>{end}</tfoot>" if end else ""
    said = escaped(caption)
    return (
        f'<div class="table" role="group" aria-label="{said}" tabindex="0"><table>'
        f"<caption>{said}</caption><thead><tr>{top}</tr></thead><tbody>{body}</tbody>{tail}"
        "</table></div>"
    )


def page(title: str, *, style: str, header: str, main: Iterable[str]) -> str:
    """Return a page that stands alone: its header, then its main part."""
    return "\n".join(
        [
            "<!DOCTYPE html>",
            '<html lang="en"><head><meta charset="utf-8">',
            '<meta name="viewport" content="width=device-width, initial-scale=1">',
            f"<title>{escaped(title)}</title><style>{style}</style></head><body>",
            f"<header>{header}</header>",
            "<main>",
            *main,
            "</main>",
            "</body></html>",
            "",
        ]
    )
