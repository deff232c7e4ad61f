"""Pieces as TOML that a job file includes.

The lines are written here. Measured against tomlkit (0.15): 500 pieces with 1,500 marks take
0.8 s of one core so, and 1.4 s built of its tables; and what a person added stands in the new
file to the letter, comments and all. Texts are tomlkit's, and what was added is read with it.
"""

from __future__ import annotations

import math
import re
from collections.abc import Iterator, Mapping
from os import PathLike
from pathlib import Path as FilePath

import tomlkit

from nesting.errors import Severity, WriteError
from nesting.pattern.marks.marked import beyond, clipped
from nesting.pattern.measure import bounds
from nesting.pattern.path import Path, Point
from nesting.pattern.piece import Face, Mark, MarkKind, NotchStyle
from nesting.pattern.svg_path import format_path
from nesting.pattern.variants.transform import from_corner
from nesting.reading.kept import FROM_FILE, Kept, checksum_line, kept_of
from nesting.reading.pattern_file import Found, Pattern
from nesting.whole import exists_already, whole_file

__all__ = ["pieces_toml", "save_pieces"]


def save_pieces(
    pattern: Pattern, path: str | PathLike[str], *, overwrite: bool = False
) -> tuple[str, ...]:
    """Write the pieces of a pattern for ``include = "…"`` in a job file, whole or not at all.

    Marks and keys that a person added to the pieces of a file that is overwritten, and
    grains that they settled, are kept; returns what was kept, in sentences.

    Raises
    ------
    WriteError
        If the file exists and `overwrite` is not set, something else in it was changed by
        hand, or it can't be written.

    """
    file = FilePath(path)
    if file.exists() and not overwrite:
        raise exists_already(file)
    kept = kept_of(file) if file.exists() else {}
    names = {found.piece.name for found in pattern.found}
    for name, one in kept.items():
        if name not in names and one.words:
            raise WriteError(
                f"has something added by hand to {name!r}, which is not in the pattern any more",
                file=str(file),
                hint="write to another file",
            )
    with whole_file(file, overwrite=overwrite) as temporary:
        temporary.write_text(pieces_toml(pattern, kept=kept), encoding="utf-8")
    return tuple(told for found in pattern.found for told in _told(found, kept))


def _told(found: Found, kept: Mapping[str, Kept]) -> Iterator[str]:
    """Yield what was kept of a piece, or could not be."""
    name = found.piece.name
    one = kept.get(name, Kept())
    if one.words:
        yield f"{name}: kept what was added by hand: {', '.join(one.words)}"
    new = found.piece.grain % 360.0
    if one.grain is not None and not math.isclose(one.grain, new, abs_tol=1e-6):
        if found.up_known:
            yield f"{name}: its grain was {one.grain:.4g}° and is {new:.4g}° now, as drawn"
        else:
            yield f"{name}: its grain stays {one.grain:.4g}°, as settled by hand, not {new:.4g}°"


def pieces_toml(pattern: Pattern, *, kept: Mapping[str, Kept] | None = None) -> str:
    """Return the pieces as TOML: exact path data in mm, y upwards, and what was found.

    Every piece is measured from its own lower left corner. `kept`: what people added, by
    the piece's name.
    """
    scale = pattern.scale
    lines = [
        f"# Pieces from {_comment(FilePath(pattern.file).name)} ({pattern.kind}).",
        f"# Unit: {_comment(scale.unit)}, {_comment(scale.why)}.",
        "# Places are measured from the lower left corner of each piece, x to the right, y up.",
        "# Marks that you add here stay when the file is written again with --replace.",
    ]
    if pattern.size:
        lines.append(f"# Size: {_comment(pattern.size)}.")
    for finding in pattern.findings:
        word = "Fault" if finding.severity is Severity.FAULT else "Note"
        lines.append(f"# {word}: {_comment(finding.text)}")
    head = "\n".join(lines)
    written = _body(pattern, {})
    whole = _body(pattern, kept) if kept else written
    return f"{head}\n{checksum_line(written)}\n{whole}"


_DIGITS = 9
"""Places are written to a millionth of a micrometre, which is more than any file means."""

_CRUMBS = re.compile(rf"-?\d+\.\d{{{_DIGITS + 1},}}(e-?\d+)?|-?\d+(\.\d+)?e-\d+")


def _body(pattern: Pattern, kept: Mapping[str, Kept]) -> str:
    lines = ["", 'unit = "mm"']
    for found in pattern.found:
        lines += ["", *_piece_lines(found, kept.get(found.piece.name, Kept()))]
    return "\n".join(lines) + "\n"


def _piece_lines(found: Found, kept: Kept) -> Iterator[str]:
    piece = from_corner(found.piece)
    said = _said(found)
    if said:
        yield f"# {_comment(said)}"
    x0, y0, x1, y1 = bounds(piece.cut)
    yield f"# {_number(round(x1 - x0, 2))} × {_number(round(y1 - y0, 2))} mm"
    yield "[[piece]]"
    yield f"name = {_text(piece.name)}"
    yield f"outline = {_drawn(piece.cut)}"
    yield 'line = "cutting"'
    if piece.sew is not None:
        yield f"sewing_line = {_drawn(piece.sew)}"
    settled = kept.grain is not None and not found.up_known
    if not found.up_known and not settled:
        yield "# See that this grain points to the end that is up, then take the next line out."
        yield "up_known = false"
    yield f"grain = {_number((kept.grain or 0.0) if settled else piece.grain % 360.0)}"
    given = {key for key, _ in kept.keys + kept.tables}
    for key, ends in (("fold_axis", piece.fold), ("fold_back", piece.fold_back)):
        if ends is not None and key not in given:
            yield f"{key} = [{_point(ends[0])}, {_point(ends[1])}]"
    if piece.motif is not None:
        yield f"motif = {_point(piece.motif)}"
    if piece.points and "named_points" not in given:
        inner = ", ".join(f"{_text(name)} = {_point(at)}" for name, at in piece.points)
        yield f"named_points = {{ {inner} }}"
    yield from (f"{key} = {value}" for key, value in kept.keys)
    for hole in piece.holes:
        yield "[[piece.hole]]"
        yield f"outline = {_drawn(hole)}"
    for mark in piece.marks:
        off = beyond(mark, piece)
        if off and mark.path is None:
            yield f"# Fault: a {mark.kind} mark runs {off:.4g} mm off the piece and is left out."
            continue
        for part in clipped(mark, piece):
            yield from _mark_lines(part)
    for lines in kept.marks:
        yield f"[[piece.mark]]\n{lines}"
    for key, lines in kept.tables:
        yield f"[piece.{key}]\n{lines}"


def _said(found: Found) -> str:
    """Return what the file says about a piece that belongs in a cutting list."""
    words = []
    if found.right is not None:
        words.append(f"quantity {found.right} right, {found.left or 0} left")
    if found.material:
        words.append(f"material {found.material}")
    if found.size:
        words.append(f"size {found.size}")
    if found.opened:
        words.append("opened at its mirror line")
    return "; ".join(words)


def _mark_lines(mark: Mark) -> Iterator[str]:
    yield f"[[piece.mark]]  {FROM_FILE}"
    yield f'kind = "{mark.kind.value}"'
    if mark.name:
        yield f"name = {_text(mark.name)}"
    if mark.path is not None:
        yield f"outline = {_drawn(mark.path)}"
    elif mark.at is not None:
        yield f"at = {_point(mark.at)}"
        if mark.size > 0.0:
            yield f"size = {_number(mark.size)}"
    if mark.kind is MarkKind.NOTCH:
        if mark.width > 0.0:
            yield f"width = {_number(mark.width)}"
        if mark.style is not NotchStyle.SLIT:
            yield f'style = "{mark.style.value}"'
        if mark.mirrored:
            yield "mirrored = true"
    if mark.angle is not None and mark.kind in (MarkKind.NOTCH, MarkKind.TEXT):
        yield f"angle = {_number(math.fmod(mark.angle, 360.0))}"
    if mark.text:
        yield f"text = {_text(mark.text)}"
    if mark.copies is not None:
        yield f"copies = {sorted(mark.copies)}"
    if mark.hands is not None:
        yield f"hands = [{', '.join(map(_text, sorted(hand.value for hand in mark.hands)))}]"
    if mark.materials is not None:
        yield f"materials = [{', '.join(map(_text, sorted(mark.materials)))}]"
    if mark.face is not Face.RIGHT:
        yield f'face = "{mark.face.value}"'


def _point(at: Point) -> str:
    return f"[{_number(at[0])}, {_number(at[1])}]"


def _number(value: float) -> str:
    return repr(round(float(value), _DIGITS) + 0.0)


def _drawn(path: Path) -> str:
    """Return a path as path data, without the crumbs of arithmetic (50.79999999999998)."""
    return _text(_CRUMBS.sub(lambda number: _number(float(number[0])), format_path(path)))


def _text(text: str) -> str:
    """Return a TOML basic string."""
    return tomlkit.string(text).as_string()


def _comment(text: str) -> str:
    """Return a text that can't break out of a comment."""
    return " ".join("".join(c if c.isprintable() else " " for c in text).split())
