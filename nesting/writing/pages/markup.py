"""Pages made from the templates in `html/`: their structure stands there, their words come from us.

Every text is escaped, and set on one line; what is markup already says so by its type.
"""

from __future__ import annotations

from collections.abc import Collection, Sequence
from dataclasses import dataclass
from functools import cache

from jinja2 import Environment, PackageLoader, StrictUndefined
from markupsafe import Markup

from nesting.writing.files import one_line

__all__ = ["Passage", "Table", "filled"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Table:
    """A table of texts, some of which may be markup.

    `caption`: what it is, for those who hear the page; `numbers`: the columns set to the
    right; `named`: the column in which each row's name stands.
    """

    caption: str
    head: Sequence[str]
    rows: Sequence[Sequence[str]]
    foot: Sequence[Sequence[str]] = ()
    numbers: Collection[int] = ()
    named: int = 0


@dataclass(frozen=True, slots=True)
class Passage:
    """A heading, and what stands below it in this order, so far as there is any."""

    title: str
    said: str = ""
    lines: Sequence[str] = ()
    table: Table | None = None
    note: str = ""


def filled(template: str, **held: object) -> str:
    """Return the page or fragment that a template makes of what it is given."""
    return _templates().get_template(template).render(held)


@cache
def _templates() -> Environment:
    return Environment(
        loader=PackageLoader("nesting.writing.pages", "html"),
        autoescape=True,
        undefined=StrictUndefined,
        finalize=_shown,
        trim_blocks=True,
        lstrip_blocks=True,
        keep_trailing_newline=True,
    )


def _shown(value: object) -> object:
    plain = isinstance(value, str) and not isinstance(value, Markup)
    return one_line(value) if plain else value  # type: ignore[arg-type]
