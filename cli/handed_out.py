"""What is told machines of all that is handed out with a pattern; units are those of `records`."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from nesting.planning.handout.needed import Needed, Needs
from nesting.writing.handout.numbered import StoredLay, numbered

__all__ = ["PatternResult", "PatternRow", "pattern_result"]


@dataclass(frozen=True, slots=True, kw_only=True)
class PatternRow:
    """A line of a requirement table: goods in one width, laid one way up (null: no difference).

    `certain`: a marker holds all parts; else there is no number, and `why_not` says why the goods
    can't be used, if they can't. `needed`: length with ends and shrinkage, or area of leather;
    `metres`, `yards`: to buy where cloth is cut by the metre or the yard, as lengths, margin
    included. `lay`: the file that the marker is stored in.
    """

    material: str
    width: float | None
    one_way: bool | None
    certain: bool
    why_not: str
    needed: float | None
    metres: float | None
    yards: float | None
    sheets: int | None
    lay: str | None


@dataclass(frozen=True, slots=True, kw_only=True)
class PatternResult:
    """What is handed out with a pattern: the requirement table, and the files.

    `margin`: how much more cloth is bought, as a share. `standing`: what stands in the way of a
    table, which has no rows then.
    """

    rows: tuple[PatternRow, ...]
    margin: float
    standing: tuple[str, ...]
    folder: str
    files: tuple[str, ...]


def pattern_result(needs: Needs, *, folder: str, files: Sequence[str]) -> PatternResult:
    """Return what is told of a handout."""
    lays = {} if needs.standing else {id(row): lay for lay in numbered(needs) for row in lay.rows}
    return PatternResult(
        rows=() if needs.standing else tuple(_pattern_row(row, needs, lays) for row in needs.rows),
        margin=needs.margin,
        standing=needs.standing,
        folder=folder,
        files=tuple(files),
    )


def _pattern_row(row: Needed, needs: Needs, lays: Mapping[int, StoredLay]) -> PatternRow:
    lay, on_cloth = lays.get(id(row)), row.width is not None
    entry = row.entry if row.certain else None
    cloth = on_cloth and entry is not None
    return PatternRow(
        material=row.material,
        width=None if row.width is None else row.width.booked,
        one_way=row.one_way,
        certain=row.certain,
        why_not=row.why,
        needed=None if entry is None else row.gross,
        metres=needs.metres(row) if cloth else None,
        yards=needs.yards(row) if cloth else None,
        sheets=None if entry is None or on_cloth else entry.buying.sheets,
        lay=None if lay is None else lay.file,
    )
