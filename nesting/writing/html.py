"""A few HTML elements, with every text escaped."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Sequence
from html import escape

from nesting.writing.files import one_line

__all__ = ["Markup", "element", "escaped", "items", "table"]


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
    numbers: Collection[int] = (),
    foot: Iterable[Sequence[str]] = (),
) -> str:
    """Return a table; `numbers`: the columns set to the right."""

    def line(tag: str, cells: Sequence[str]) -> str:
        done = [element(tag, cell, css="n" if i in numbers else "") for i, cell in enumerate(cells)]
        return f"<tr>{''.join(done)}</tr>"

    body = "".join(line("td", row) for row in rows)
    end = "".join(line("td", row) for row in foot)
    tail = f"<tfoot>{end}</tfoot>" if end else ""
    return f"<table><thead>{line('th', head)}</thead><tbody>{body}</tbody>{tail}</table>"
