"""A pattern file becomes pieces."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, replace
from functools import lru_cache
from os import PathLike
from pathlib import Path as FilePath

from nesting.amounts import Amounts
from nesting.bounded import bytes_of
from nesting.errors import PatternError
from nesting.job.desk import Request
from nesting.limits import LARGEST_PATTERN, LARGEST_PICTURE
from nesting.reading.items import CLOSE, Role
from nesting.reading.pattern_file import Pattern
from nesting.reading.pdf.open import is_pdf
from nesting.reading.pdf.pictured import pictures_of
from nesting.reading.pdf.reader import read_pdf
from nesting.reading.pdf.sheet import PicturesError, Tiling
from nesting.reading.pictures.shown import Shown
from nesting.reading.raw_pattern import RawPattern, drawn_length, finished, printable
from nesting.reading.roles import parse_roles
from nesting.reading.svg.reader import read_svg
from nesting.reading.unit.check_square import beside_text, square_side

__all__ = ["Reference", "Tiling", "pattern_for", "read_pattern"]


_UTF_16 = (b"\xff\xfe<", b"\xfe\xff\x00<")
"""How an XML file in UTF-16 begins."""


_CHECK = 101.6
"""A square up to so large (mm) that is a reference is drawn to be measured, and no piece."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Reference:
    """A line drawn in the file whose true length (mm) is known.

    `name`: the id, label or layer of the line, or the text in or beside it; "" means the one
    that is named "reference", in a picture a square. The length of a closed contour is its longer
    side. Without a length the name says what lies in a picture: "A4", "5 cm square".
    """

    length: float = 0.0
    name: str = ""


def read_pattern(
    path: str | PathLike[str],
    *,
    unit: str | None = None,
    size: str | None = None,
    reference: Reference | None = None,
    close: float = CLOSE,
    roles: Mapping[str, str] | None = None,
    amounts: Amounts | None = None,
    tiling: Tiling | None = None,
    line: str | None = None,
) -> Pattern:
    """Read the pieces of a DXF, SVG or PDF file, a scan or a photograph, in mm.

    Parameters
    ----------
    path
        The file; what is in it says whether it is DXF, SVG, PDF, PNG or JPEG, not its name.
    unit
        The unit of the file's numbers ("mm", "cm", "in", "1/90 in"…), which outweighs
        what the file says.
    size
        Which size to take from a file that has several.
    reference
        A drawn line of known length; outweighs everything else. What gives a picture its scale.
    close
        Widest gap (mm) over which an open outline is closed; each is told.
    roles
        What layers, classes or labels are for: {"RED": "cut", "BLUE": "line"}.
    amounts
        How lengths are said in messages; by the file's unit if not given.
    tiling
        Which pages of a PDF to take, and how they lie; found by what is on them if not given.
    line
        Pieces of a picture are drawn, and the "middle" of the line is their outline, or its
        "outside".

    Returns
    -------
    Pattern
        Its `pieces`, each from its own place in the drawing (mm, y up), and what was found.

    Raises
    ------
    PatternError
        If the file can't be read, doesn't say its unit (tells the size in each), has
        several sizes and none is named, or has no closed outline.

    Examples
    --------
    >>> from pathlib import Path as File
    >>> head = 'xmlns="http://www.w3.org/2000/svg" width="22cm" height="9cm" viewBox="0 0 220 90"'
    >>> flap = '<path id="flap" d="M 10 5 h 200 v 80 h -200 z"/>'
    >>> _ = File("flap.svg").write_text(f"<svg {head}>{flap}</svg>")
    >>> [piece.name for piece in read_pattern("flap.svg").pieces]
    ['flap']

    """
    file = FilePath(path)
    if not (math.isfinite(close) and close >= 0.0):
        raise PatternError(
            "the widest gap to close must not be negative", field="close", hint="say 0 or more"
        )
    pictured = file.suffix.casefold() in (".png", ".jpg", ".jpeg")
    most = LARGEST_PICTURE if pictured else LARGEST_PATTERN
    data = bytes_of(file, most=most, what="a pattern file", error=PatternError)
    try:
        raw, shown, measured = None, None, None
        pages = {1: data}
        if not _is_picture(data):
            try:
                raw = _raw(data, parse_roles(roles), close, tiling)
            except PicturesError:
                if reference is None:
                    raise
                pages, tiling = pictures_of(data, tiling.pages if tiling else ()), None
        if raw is None:
            _no_drawing(unit, roles, tiling)
            raw, shown = _photographed(pages, reference, line, close)
        elif line is not None:
            raise PatternError(
                "the file is no picture: what of its lines is meant is in it",
                field="line",
                hint="say nothing of it",
            )
        else:
            measured = _measured(raw, reference)
        pattern = finished(
            raw,
            file=str(file),
            unit=unit,
            size=size,
            reference=measured,
            close=close,
            amounts=amounts,
        )
        return replace(pattern, shown=shown)
    except PatternError as trouble:
        raise trouble.located(file=str(file)) from None


def _is_picture(data: bytes) -> bool:
    """Tell whether a file is a picture, before what reads pictures is loaded, which takes time."""
    if data[:5] in (b"%PDF-", b"<?xml") or data[:4] == b"<svg":
        return False
    from nesting.reading.pictures.picture import is_picture

    return is_picture(data)


def _no_drawing(unit: str | None, roles: Mapping[str, str] | None, tiling: Tiling | None) -> None:
    """Refuse what is said of a picture that only drawings have."""
    wishes = ((unit, "unit"), (roles, "layers or colours that tell roles"), (tiling, "pages"))
    for said, what in wishes:
        if said:
            raise PatternError(
                f"the file is a picture, and has no {what}",
                hint="say what gives its scale: --reference of the command pieces, file_reference"
                " in a job",
            )


def _photographed(
    pages: Mapping[int, bytes], reference: Reference | None, line: str | None, close: float
) -> tuple[RawPattern, Shown]:
    from nesting.reading.pictures.pages import read_pages
    from nesting.reading.pictures.picture import read_picture
    from nesting.reading.pictures.reader import Pen
    from nesting.reading.pictures.references.reference import parse_references

    known = []
    if reference is not None and reference.length and reference.name:
        raise PatternError(
            f"a picture has no line that is known by its name {reference.name!r}",
            field="reference",
            hint='say "A4", "Letter", "5 cm square" or the like',
        )
    if reference is not None:
        square = f"{reference.length:.9g} mm square"
        known = parse_references(square if reference.length else reference.name)
    if line is not None and line not in tuple(Pen):
        raise PatternError(f"a line has no {line!r}", field="line", hint="middle or outside")
    read = {number: read_picture(data) for number, data in pages.items()}
    return read_pages(read, known, pen=Pen(line) if line else None, close=close)


def _raw(data: bytes, roles: Mapping[str, Role], close: float, tiling: Tiling | None) -> RawPattern:
    if not data.strip():
        raise PatternError("the file is empty", hint="save or download it again")
    if is_pdf(data):
        return read_pdf(data, roles=roles, close=close, tiling=tiling)
    if tiling is not None:
        raise PatternError("the file is no PDF, and has no pages", hint="say nothing of its pages")
    if data.lstrip(b"\xef\xbb\xbf \t\r\n").startswith(b"<") or data.startswith(_UTF_16):
        return read_svg(data, roles=roles, close=close)
    # What reads DXF takes longer to load than all else here, and most jobs draw their pieces.
    from nesting.reading.dxf.plain import read_plain
    from nesting.reading.dxf.sewn import is_sewn, read_sewn
    from nesting.reading.dxf.tags import read_document

    document = read_document(data)
    if is_sewn(document):
        return read_sewn(document, roles=roles)
    return read_plain(document, roles=roles)


def _measured(raw: RawPattern, reference: Reference | None) -> tuple[float, float] | None:
    """Return the drawn length of the reference (file units) and its true one (mm).

    A square or a line that is called by the text beside it is no piece.
    """
    if reference is None:
        return None
    if not reference.length:
        raise PatternError(
            f"{reference.name!r} gives a picture its scale, and the file is no picture",
            field="reference",
            hint='name a line that is drawn in it, and its length: "check bar=100 mm"',
        )
    name = " ".join(reference.name.split())
    items = list(raw.items())
    for item in items:
        names = (item.label.casefold(), item.layer.casefold())
        hit = name.casefold() in names if name else item.role is Role.REFERENCE
        if hit and item.path is not None:
            if reference.length <= _CHECK and square_side(item):
                raw.set_role(item, Role.REFERENCE)
            return drawn_length(item.path), reference.length
    found = beside_text(items, name) if name else None
    if found is not None and found.path is not None:
        raw.set_role(found, Role.REFERENCE)
        return drawn_length(found.path), reference.length
    what = f"no line, square, layer or text {reference.name!r}" if name else 'nothing "reference"'
    said = dict.fromkeys(n for i in items for n in (i.label, i.layer, i.text) if n)
    raise PatternError(
        f"there is {what} in it",
        field="reference",
        hint="it has " + ", ".join(printable(n)[:40] for n in list(said)[:12])
        if said
        else "a reference takes a name that is written in or beside a drawn line, and its length",
    )


@lru_cache(maxsize=64)
def _cached(request: Request, stamp: tuple[int, int]) -> Pattern:
    del stamp  # only there so that a file that has changed is read again
    known = request.reference
    pattern = read_pattern(
        request.file,
        unit=request.unit,
        size=request.size,
        reference=None if known is None else Reference(name=known[0], length=known[1]),
        amounts=request.amounts,
        line=request.line,
    )
    return replace(pattern, shown=None)  # many are kept


def pattern_for(request: Request) -> Pattern:
    """Return the pattern file that a job file asks for with ``from = "…"``.

    It is read once as long as it stays the same.
    """
    try:
        status = request.file.stat()
        stamp = (status.st_mtime_ns, status.st_size)
    except (OSError, ValueError):
        stamp = (0, 0)
    return _cached(replace(request, piece=""), stamp)
