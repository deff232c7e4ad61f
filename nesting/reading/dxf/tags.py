"""DXF files as tags: sections, blocks and entities, and nothing believed that isn't there.

The tags are read here rather than by ezdxf because pattern files have a POINT or a
VERTEX for every corner: ezdxf (1.4) makes an object of each with a handle and owner, and
takes 16 s for 500 pieces of 150 vertices; this takes 1 s. It also reads files without
HEADER and TABLES, and can say in which line something is wrong. Binary DXF and text
decoding are ezdxf's.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field

from ezdxf.lldxf.encoding import decode_dxf_unicode, has_dxf_unicode
from ezdxf.lldxf.tagger import binary_tags_loader
from ezdxf.tools.codepage import toencoding

from nesting.errors import PatternError
from nesting.limits import LONGEST_TEXT

__all__ = [
    "MOST_TAGS",
    "Block",
    "Document",
    "Entity",
    "read_document",
    "too_much",
]

MOST_TAGS = 2_000_000
"""No file may have more tags, or draw more, blocks counted as often as they are inserted.
A pattern of 500 pieces with 300 vertices each has one million."""

_BINARY = b"AutoCAD Binary DXF\r\n\x1a\x00"
"""The sentinel of binary DXF (DXF reference)."""


Tags = tuple[list[int], list[bytes]]
"""Group codes and values; the n-th code stands in line 2n + 1."""


@dataclass(slots=True)
class Entity:
    """One entity: its type, where its tags lie in the document's, and what belongs to it.

    Values are bytes as they stand in the file; `parts` are the VERTEX entities of a
    POLYLINE or the ATTRIB entities of an INSERT.
    """

    kind: str
    begin: int
    end: int
    document: Document
    parts: list[Entity] = field(default_factory=list)

    def tags(self) -> Iterator[tuple[int, bytes]]:
        """Return group codes and values in order, without comments and extended data."""
        codes, values = self.document.tags
        for i in range(self.begin, self.end):
            if codes[i] == 101:  # an embedded object begins
                return
            if codes[i] < 999:
                yield codes[i], values[i]

    @property
    def line(self) -> int:
        """The line of the file in which it begins, from 1."""
        return 2 * self.begin - 1

    def raw(self, code: int) -> bytes | None:
        """Return the first value of a group code."""
        codes = self.document.tags[0]
        for i in range(self.begin, self.end):
            if codes[i] == code:
                return self.document.tags[1][i]
            if codes[i] == 101:
                return None
        return None

    def number(self, code: int, default: float = 0.0) -> float:
        """Return the first number of a group code."""
        value = self.raw(code)
        return default if value is None else self.as_number(value)

    def optional(self, code: int) -> float | None:
        """Return the first number of a group code, None if there is none."""
        value = self.raw(code)
        return None if value is None else self.as_number(value)

    def integer(self, code: int, default: int = 0) -> int:
        """Return the first whole number of a group code."""
        return int(self.number(code, default))

    def numbers(self, code: int) -> list[float]:
        """Return every number of a group code."""
        return [self.as_number(value) for c, value in self.tags() if c == code]

    def text(self, code: int) -> str:
        """Return the first text of a group code, or ""."""
        value = self.raw(code)
        return "" if value is None else self.document.decoded(value)

    def texts(self, *codes: int) -> list[str]:
        """Return every text of some group codes, in order."""
        return [self.document.decoded(value) for c, value in self.tags() if c in codes]

    @property
    def layer(self) -> str:
        """The name of the layer, without spaces around it."""
        return self.document.layer_name(self.raw(8) or b"")

    def as_number(self, value: bytes) -> float:
        """Return the number, or say in which entity it is none."""
        try:
            number = float(value)
        except ValueError:
            number = math.nan
        if not math.isfinite(number):
            shown = self.document.decoded(value)[:30]
            raise PatternError(
                f"{self.kind}: {shown!r} is not a usable number",
                line=self.line,
                hint="save the drawing anew, or mend that line",
            )
        return number


@dataclass(slots=True)
class Block:
    """A block: its name, base point and entities."""

    name: str
    entities: list[Entity]
    line: int
    base: tuple[float, float] = (0.0, 0.0)


@dataclass(slots=True)
class Document:
    """A DXF file: header variables, hidden layers, blocks, and what lies in modelspace.

    `line_types`: what those of layers are called; `patterns`: how each is dashed.
    """

    tags: Tags
    encoding: str = "cp1252"
    header: dict[str, bytes] = field(default_factory=dict)
    hidden: set[str] = field(default_factory=set)
    line_types: dict[str, str] = field(default_factory=dict)
    patterns: dict[str, Entity] = field(default_factory=dict)
    blocks: dict[str, Block] = field(default_factory=dict)
    entities: list[Entity] = field(default_factory=list)
    guessed_text: bool = False
    """Whether there is text beyond ASCII and nothing that says how it is coded."""
    spline_bits: int = 0
    """How many curves its splines have come to so far."""

    _layer_names: dict[bytes, str] = field(default_factory=dict)

    def layer_name(self, value: bytes) -> str:
        """Return the name of a layer, without spaces around it."""
        name = self._layer_names.get(value)
        if name is None:
            name = self._layer_names[value] = self.decoded(value).strip()
        return name

    def decoded(self, value: bytes) -> str:
        """Return a text of the file, as far as one is long; half characters are replaced."""
        text = value[: 4 * LONGEST_TEXT].decode(self.encoding, errors="replace")
        if "\\" in text and has_dxf_unicode(text):
            text = (
                decode_dxf_unicode(text)
                .encode("utf-16", "surrogatepass")
                .decode("utf-16", "replace")
            )
        return text

    def header_number(self, name: str) -> float | None:
        """Return a number of the header, None if it has none."""
        try:
            number = float(self.header[name])
        except (KeyError, ValueError):
            return None
        return number if math.isfinite(number) else None


def too_much() -> PatternError:
    """Return the refusal of a file that would take for ever."""
    return PatternError(
        f"the file draws more than {MOST_TAGS:,} things, blocks within blocks counted",
        hint="no pattern is so large",
    )


def read_document(data: bytes) -> Document:
    """Read a DXF file, text or binary.

    Raises
    ------
    PatternError
        If it is no DXF file, ends in the middle, or has a line that can't be there.

    """
    tags = _binary_tags(data) if data.startswith(_BINARY) else _text_tags(data)
    document = Document(tags)
    entities = list(_entities(document))
    if not entities or entities[0].kind != "SECTION":
        raise PatternError(
            "this is not a DXF file: it does not begin with a section",
            hint="give a DXF, SVG or PDF file",
        )
    if entities[-1].kind != "EOF":
        raise PatternError(
            "the file ends in the middle: there is no EOF at its end", hint="export it again"
        )
    header = (e for e in entities if e.kind == "SECTION" and e.raw(2) == b"HEADER")
    for section in header:
        _header(section, document)
    _set_encoding(document, data)
    _sorted_in(entities, document)
    return document


def _text_tags(data: bytes) -> Tags:
    if data.startswith(b"\xef\xbb\xbf"):
        data = data[3:]
    if b"\x00" in data[:4096]:
        raise PatternError(
            "this is not a DXF file: it holds binary data", hint="save it as DXF in text (ASCII)"
        )
    lines = data.splitlines()
    while lines and not lines[-1].strip():
        lines.pop()
    if len(lines) > 2 * MOST_TAGS:
        raise too_much()
    if len(lines) % 2:
        lines.append(b"")
    try:
        codes = list(map(int, lines[0::2]))
    except ValueError:
        raise _bad_code(lines) from None
    return codes, list(map(bytes.strip, lines[1::2]))


def _bad_code(lines: Sequence[bytes]) -> PatternError:
    for i in range(0, len(lines), 2):
        try:
            int(lines[i])
        except ValueError:
            shown = lines[i][:30].decode("ascii", errors="replace")
            if i == 0:
                return PatternError(
                    "this is not a DXF file: it does not begin with a group code",
                    hint="give a DXF, SVG or PDF file",
                )
            return PatternError(
                f"a group code was expected, found {shown!r}", line=i + 1, hint="export it again"
            )
    return PatternError("this is not a DXF file", hint="give a DXF, SVG or PDF file")


def _binary_tags(data: bytes) -> Tags:
    try:
        tags = list(binary_tags_loader(data))
        return [tag.code for tag in tags], [_as_bytes(tag.value) for tag in tags]
    except Exception:  # ezdxf's reader of untrusted bytes fails in many ways
        raise PatternError("the binary DXF file is damaged", hint="export it again") from None


def _as_bytes(value: object) -> bytes:
    return value if isinstance(value, bytes) else str(value).strip().encode("utf-8", "replace")


def _entities(document: Document) -> Iterator[Entity]:
    """Yield what lies between the tags with code 0."""
    codes, values = document.tags
    begins = [i for i, code in enumerate(codes) if code == 0]
    if not begins or any(code != 999 for code in codes[: begins[0]]):
        raise PatternError(
            "this is not a DXF file: it does not begin with a section",
            hint="give a DXF, SVG or PDF file",
        )
    kinds: dict[bytes, str] = {}
    for i, end in zip(begins, [*begins[1:], len(codes)], strict=True):
        kind = kinds.get(values[i])
        if kind is None:
            kind = kinds[values[i]] = values[i].decode("ascii", errors="replace").upper()
        yield Entity(kind, i + 1, end, document)


def _sorted_in(entities: Sequence[Entity], document: Document) -> None:
    section = ""
    block: Block | None = None
    owner: Entity | None = None
    for entity in entities:
        kind = entity.kind
        if kind == "SECTION":
            section, owner = entity.text(2).strip().upper(), None
        elif kind in ("ENDSEC", "EOF"):
            section, block, owner = "", None, None
        elif section == "TABLES" and kind == "LAYER":
            if entity.integer(62) < 0 or entity.integer(70) & 1:
                document.hidden.add(entity.text(2).strip())
            document.line_types[entity.text(2).strip()] = entity.text(6).strip().upper()
        elif section == "TABLES" and kind == "LTYPE":
            document.patterns[entity.text(2).strip().upper()] = entity
        elif section == "BLOCKS" and kind == "BLOCK":
            base = (entity.number(10), entity.number(20))
            block = Block(entity.text(2).strip(), [], entity.line, base)
            document.blocks[block.name.upper()] = block
            owner = None
        elif section == "BLOCKS" and kind == "ENDBLK":
            block, owner = None, None
        elif section in ("BLOCKS", "ENTITIES"):
            target = document.entities if section == "ENTITIES" else block.entities if block else []
            owner = _placed(entity, owner, target)


def _placed(entity: Entity, owner: Entity | None, target: list[Entity]) -> Entity | None:
    """Add an entity to its list or its owner; return the owner of what follows."""
    if entity.kind == "SEQEND":
        return None
    if entity.kind in ("VERTEX", "ATTRIB") and owner is not None:
        owner.parts.append(entity)
        return owner
    target.append(entity)
    return entity if entity.kind in ("POLYLINE", "INSERT") else None


def _header(entity: Entity, document: Document) -> None:
    name = ""
    for code, value in entity.tags():
        if code == 9:
            name = value.decode("ascii", errors="replace").upper()
        elif name and name not in document.header:
            document.header[name] = value


def _set_encoding(document: Document, data: bytes) -> None:
    """Choose the coding of texts: UTF-8 since AC1021, before that the file's code page.

    Text beyond ASCII that is valid UTF-8 is UTF-8, whatever the file says: other codings
    do not look like it by chance.
    """
    if data.isascii():
        return
    version = document.header.get("$ACADVER", b"").decode("ascii", errors="replace").upper()
    page = document.header.get("$DWGCODEPAGE", b"").decode("ascii", errors="replace")
    try:
        data.decode("utf-8")
        document.encoding = "utf-8"
    except UnicodeDecodeError:
        if page:
            document.encoding = toencoding(page)
        else:
            document.guessed_text = True
    if version >= "AC1021" and data.startswith(_BINARY):
        document.encoding = "utf-8"
