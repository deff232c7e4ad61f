"""PDF: pages with lines become one drawing, and its closed lines pieces."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from nesting.errors import Finding
from nesting.pattern.marks.capitals import CAPITALS
from nesting.reading.items import CLOSE, Group, Item, Role, role_of
from nesting.reading.pdf.ink import all_styles, is_blot, style_of
from nesting.reading.pdf.lettering import Word
from nesting.reading.pdf.marks import areas_of, marked
from nesting.reading.pdf.open import pages_of
from nesting.reading.pdf.page import Stroke
from nesting.reading.pdf.sheet import Sheet, Tiling, sheet_of
from nesting.reading.pdf.silent_squares import take_silent_squares
from nesting.reading.pdf.sizes import size_style, sizes_of
from nesting.reading.raw_pattern import Draft, RawPattern, note
from nesting.reading.roles import roles_there
from nesting.reading.svg.style import colour
from nesting.reading.unit.check_square import check_squares
from nesting.reading.unit.scale import Claim
from nesting.reading.words import Said, said_by

__all__ = ["read_pdf"]


def read_pdf(
    data: bytes,
    *,
    roles: Mapping[str, Role] | None = None,
    close: float = CLOSE,
    tiling: Tiling | None = None,
) -> RawPattern:
    """Read a PDF file, in mm, y upwards.

    Its pages are put together where they belong together. What a line is for is said by
    the name of its layer, by `roles` for a layer, a colour or "dashed", "dotted" and
    "dash-dotted", else by its shape (`marks.py`); closed lines are outlines.
    """
    wishes = tiling or Tiling()
    sheet = sheet_of(pages_of(data, wishes.pages), wishes)
    return _Reader(sheet, roles or {}, close).read()


class _Reader:
    def __init__(self, sheet: Sheet, roles: Mapping[str, Role], close: float) -> None:
        self._sheet = sheet
        self._close = close
        self._findings: list[Finding] = list(sheet.findings)
        self._blots: dict[int, Item] = {}
        strokes = sheet.strokes
        self._styles = all_styles(s for s in strokes if not s.layer)
        names = [name for s in strokes for name in style_of(s) if name]
        self._roles = roles_there(roles, names, what="layer, colour or dash", fold=colour)

    def read(self) -> RawPattern:
        items, said = self._items()
        every = Group(name="", items=[item for item, _ in items], loose=True)
        sizes = {id(item): size for item, size in items}
        check_squares([every])
        self._findings += take_silent_squares(every, self._blots.values())
        squares = [item for item in every.items if item.role is Role.REFERENCE]
        rest = [item for item in every.items if item.role is not Role.REFERENCE]
        drafts = []
        for name in dict.fromkeys(size for _, size in items if size) or [""]:
            own = [item for item in rest if sizes[id(item)] in ("", name)]
            fields = [("sizename", name)] if name else []
            drafts.append(Draft(group=self._group_of(own, said), fields=fields))
        return RawPattern(
            kind="PDF",
            drafts=drafts,
            stray=squares,
            claims=[
                Claim(factor=1.0, unit="mm", why="as large as the PDF prints at 100 %", firm=True)
            ],
            readings=("mm",),
            findings=list({finding.text: finding for finding in self._findings}.values()),
            exact=True,
        )

    def _group_of(self, items: list[Item], said: Sequence[tuple[Item, Said]]) -> Group:
        """Return the items of one size with what their shapes and words say."""
        areas = areas_of(items, close=self._close)
        told = self._known(marked(items, areas, said))
        # How many of what, in words, is no word of a mark: they come last.
        told += [item for item, one in said if not (one.edge or one.grain)]
        return Group(name="", items=told, loose=True)

    def _items(self) -> tuple[list[tuple[Item, str]], list[tuple[Item, Said]]]:
        """Return what is drawn, each with its size ("" for all), and what words say."""
        strokes, words = self._sheet.strokes, self._sheet.words
        sizes, key = sizes_of(strokes, words)
        items = [
            (item, sizes.get(size_style(stroke), ""))
            for stroke in strokes
            if id(stroke) not in key
            for item in self._drawn(stroke)
        ]
        said: list[tuple[Item, Said]] = []
        for word in (word for word in words if id(word) not in key):
            told = said_by(word.text)
            if told is None:
                items.append((_text(word, word.text), ""))
                continue
            said.append((_text(word, word.text), told))
        return items, said

    def _drawn(self, stroke: Stroke) -> list[Item]:
        layer, ink, dash = style_of(stroke)
        names = (layer, ink, dash)
        told = next((self._roles[colour(n)] for n in names if colour(n) in self._roles), None)
        role = told or role_of(layer) or Role.ANY
        if role is Role.IGNORE:
            return []
        if role is Role.ANY and is_blot(stroke):
            blot = Item(role=Role.ANY, path=stroke.path)
            self._blots[id(blot)] = blot
            return [blot]
        return [Item(role=role, path=stroke.path, layer=self._group(stroke), dash=dash)]

    def _known(self, items: list[Item]) -> list[Item]:
        """Leave out filled shapes that are no mark: letters, logos, dots."""
        unknown = [item for item in items if id(item) in self._blots]
        if unknown:
            text = f"not understood: {len(unknown)} small filled shape(s), as letters are; left out"
            self._findings.append(note("unread", text))
        return [item for item in items if id(item) not in self._blots]

    def _group(self, stroke: Stroke) -> str:
        """Return what a line has in common with those that it may be joined to."""
        if stroke.layer or stroke.path.closed or style_of(stroke) == self._styles[0]:
            return stroke.layer
        return " ".join(word for word in style_of(stroke) if word)


def _text(word: Word, text: str) -> Item:
    return Item(
        role=Role.TEXT,
        at=word.at,
        text=text,
        size=CAPITALS * word.size,
        angle=word.angle,
    )
