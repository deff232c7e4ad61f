"""Pages put together: the arrangement that the evidence tells, or the refusal to choose one."""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass

from nesting.amounts import METRIC, Amounts
from nesting.errors import PatternError
from nesting.reading.pdf.page import Box
from nesting.reading.pdf.tiled.evidence import Cells, by_labels, evidence_of, grown, normal
from nesting.reading.pdf.tiled.joints import Joints, Meeting
from nesting.reading.pdf.tiled.tile import Tile

__all__ = ["Arrangement", "NoneFitsError", "Tiling", "arranged"]

_FITS = 0.8
"""At least so large a share of the lines at the edges has to go on."""
_COVERS = 3
"""At most so many pages before the pattern are tried as no part of it."""
_OTHERWISE = (
    "say the arrangement, columns × rows: --grid 4x3, with --overlap '6 mm' if the pages overlap, "
    "or leave pages out with --pages"
)


@dataclass(frozen=True, slots=True, kw_only=True)
class Tiling:
    """What the user says of pages: which (from 1), columns × rows, how far they overlap (mm).

    `by_columns`: the pages follow one another down the columns, not along the rows.
    """

    pages: tuple[int, ...] = ()
    grid: tuple[int, int] | None = None
    by_columns: bool = False
    overlap: float | None = None
    amounts: Amounts = METRIC


@dataclass(frozen=True, slots=True, kw_only=True)
class Arrangement:
    """Where pages lie: their cells, how far those are apart (mm), each page's own cell.

    `why`: the evidence, in words; `told`: it says so by itself, however lines meet. `joined`:
    the pages between which lines go on. `sure`: whether slanted lines, or the evidence, confirm
    how far pages are apart.
    """

    cells: Cells
    step: tuple[float, float]
    cell: Box
    why: str
    told: bool
    meeting: Meeting
    joined: frozenset[tuple[int, int]]
    sure: bool

    @property
    def grid(self) -> tuple[int, int]:
        """Columns and rows."""
        return (
            1 + max(c for c, _ in self.cells.values()),
            1 + max(r for _, r in self.cells.values()),
        )

    def shown(self, tiles: Sequence[Tile]) -> str:
        """Return the page numbers, row by row: "3 4 5 / 6 7 8"."""
        columns, rows = self.grid
        at = {cell: str(tiles[k].number) for k, cell in self.cells.items()}
        return " / ".join(
            " ".join(at.get((c, r), "–") for c in range(columns)) for r in range(rows)
        )


class NoneFitsError(PatternError):
    """Pages belong together, and in no arrangement do all fit."""


def arranged(tiles: Sequence[Tile], wishes: Tiling) -> Arrangement | None:
    """Return how the pages lie, None if each stands by itself.

    Raises
    ------
    NoneFitsError
        If lines run to the edges and nothing makes them meet.
    PatternError
        If two arrangements fit equally well, or the grid that is said has too few places.

    """
    found = sorted(_candidates(tiles, wishes), key=_fit, reverse=True)
    if found and (wishes.grid is not None or found[0].told):
        return found[0]
    if found and not any(one.meeting.met or one.meeting.unmet for one in found):
        return None
    if not found or _share(found[0]) < _FITS:
        found += _candidates(tiles, wishes, backwards=True)
        found.sort(key=_fit, reverse=True)
    if not found:
        raise _contrary(tiles)
    best = found[0]
    if _share(best) < _FITS:
        raise NoneFitsError(
            f"lines run to the edges of {len(tiles)} pages, and no arrangement makes them meet: "
            f"the best, {_size(best)}, joins {best.meeting.met} and leaves {best.meeting.unmet}",
            field="pages",
            hint=_OTHERWISE,
        )
    for one in found[1:]:
        same = one.joined == best.joined and one.step == best.step
        if _fit(one) == _fit(best) and not same:
            raise PatternError(_both(best, one, tiles, wishes), field="pages", hint=_OTHERWISE)
    return best


def _contrary(tiles: Sequence[Tile]) -> NoneFitsError:
    return NoneFitsError(
        f"what is drawn on {len(tiles)} pages tells how some of them lie, and in no order of the "
        "pages do they lie so: one is missing, doubled, or no part of the pattern",
        field="pages",
        hint=_OTHERWISE,
    )


def _both(best: Arrangement, rival: Arrangement, tiles: Sequence[Tile], wishes: Tiling) -> str:
    if best.cells == rival.cells:
        say = wishes.amounts.setting
        steps = [f"{say(one.step[0])} across and {say(one.step[1])} down" for one in (best, rival)]
        return f"the pages fit equally well if they are {steps[0]}, or {steps[1]}, apart"
    return (
        f"two arrangements fit equally well: {_size(best)} ({best.shown(tiles)}), or "
        f"{_size(rival)} ({rival.shown(tiles)})"
    )


def _size(one: Arrangement) -> str:
    return f"{one.grid[0]} × {one.grid[1]}"


def _share(one: Arrangement) -> float:
    every = one.meeting.met + one.meeting.unmet
    return one.meeting.met / every if every else 0.0


def _fit(one: Arrangement) -> tuple[float, int]:
    """Return how well lines meet: their share, then their number."""
    return (round(_share(one), 6), one.meeting.met)


def _candidates(
    tiles: Sequence[Tile], wishes: Tiling, *, backwards: bool = False
) -> Iterator[Arrangement]:
    """Yield what could be: one only, where the evidence tells it."""
    evidence = evidence_of(tiles)
    for across in _steps(0, tiles[0], [one.across for one in evidence], wishes):
        for down in _steps(1, tiles[0], [one.down for one in evidence], wishes):
            step = (across, down)
            joints = Joints(tiles, _cell(tiles[0], step))
            parts = grown(evidence, step, len(tiles))
            said = " and ".join(one.why for one in evidence)
            for why, cells, told in _ordered(tiles, wishes, parts, said, backwards=backwards):
                meeting, joined, slanted = _meeting(cells, joints)
                known = (any(e.across for e in evidence), any(e.down for e in evidence))
                yield Arrangement(
                    cells=cells,
                    step=step,
                    cell=joints.cell,
                    why=why,
                    told=told,
                    meeting=meeting,
                    joined=joined,
                    sure=wishes.overlap is not None
                    or all(a or b for a, b in zip(known, slanted, strict=True)),
                )


def _ordered(
    tiles: Sequence[Tile],
    wishes: Tiling,
    parts: Sequence[Cells],
    why: str,
    *,
    backwards: bool,
) -> Iterator[tuple[str, Cells, bool]]:
    """Yield cells of the pages, why, and whether nothing more is needed to believe them.

    As she says; as the evidence says; as labels say; else in the order of the pages, of
    which the first few may be no pattern. `backwards`: from right to left, or upwards, as pages
    lie that are shown turned.
    """
    if wishes.grid is not None:
        spare = len(tiles) - wishes.grid[0] * wishes.grid[1]
        yield from _in_order(tiles, [(wishes.grid, wishes.by_columns)], skip=max(0, spare))
        return
    if len(parts[0]) == len(tiles):
        yield why, parts[0], True
        return
    labelled = ((text, cells, False) for text, cells in by_labels(tiles))
    said = [
        one
        for one in (_flipped(labelled) if backwards else labelled)
        if all(_agrees(one[1], part) for part in parts)
    ]
    if said:
        yield from said
        return
    known: list[Cells] = []
    for skip in range(min(_COVERS, len(tiles) - 2) + 1):
        ways = list(_ways(len(tiles) - skip))
        every = _in_order(tiles, ways, skip=skip)
        for text, cells, told in _flipped(every) if backwards else every:
            if cells not in known and all(_agrees(cells, part) for part in parts):
                known.append(cells)
                yield text, cells, told


def _steps(axis: int, tile: Tile, told: Sequence[float | None], wishes: Tiling) -> list[float]:
    """Return how far apart pages can be: as the evidence says, or she; else frame and edge."""
    live = tile.live[axis + 2] - tile.live[axis]
    if wishes.overlap is not None:
        return [live - wishes.overlap]
    known = [step for step in told if step is not None]
    if known:
        return known[:1]
    framed = tile.frame[axis + 2] - tile.frame[axis] if tile.frame else live
    return list(dict.fromkeys((round(framed, 3), round(live, 3))))


def _cell(tile: Tile, step: tuple[float, float]) -> Box:
    """Return the box of a page, a step wide and high, in the middle of what is drawn."""
    x0, y0, x1, y1 = tile.frame or tile.live
    rim = ((x1 - x0 - step[0]) / 2.0, (y1 - y0 - step[1]) / 2.0)
    return (x0 + rim[0], y0 + rim[1], x1 - rim[0], y1 - rim[1])


def _ways(count: int) -> Iterator[tuple[tuple[int, int], bool]]:
    """Yield the grids that so many pages fill, along rows and down columns."""
    for columns in range(1, count + 1):
        rows = math.ceil(count / columns)
        if columns * rows == count:
            yield (columns, rows), False
            if columns > 1 and rows > 1:
                yield (columns, rows), True


def _in_order(
    tiles: Sequence[Tile], ways: Sequence[tuple[tuple[int, int], bool]], *, skip: int
) -> Iterator[tuple[str, Cells, bool]]:
    """Yield the cells of pages that follow one another in rows or in columns."""
    count = len(tiles) - skip
    for (columns, rows), down in ways:
        if skip > _COVERS or columns * rows - count >= max(columns, rows):
            raise PatternError(
                f"{columns} × {rows} has {columns * rows} places, and there are {len(tiles)} pages "
                f"of pattern: {', '.join(str(tile.number) for tile in tiles)}",
                field="grid",
                hint="columns × rows; --pages of the command pieces says which pages",
            )
        at = [(k // rows, k % rows) if down else (k % columns, k // columns) for k in range(count)]
        yield "lines that go on on the next page", {k + skip: at[k] for k in range(count)}, False


def _flipped(every: Iterable[tuple[str, Cells, bool]]) -> Iterator[tuple[str, Cells, bool]]:
    """Yield arrangements mirrored across, upside down, and both."""
    for text, cells, told in every:
        last = [max(cell[axis] for cell in cells.values()) for axis in (0, 1)]
        for across, down in ((True, False), (False, True), (True, True)):
            yield (
                text,
                {
                    k: (last[0] - c if across else c, last[1] - r if down else r)
                    for k, (c, r) in cells.items()
                },
                told,
            )


def _agrees(cells: Cells, part: Cells) -> bool:
    """Tell whether some pages lie to each other in an arrangement as is known of them."""
    if len(part) == 1:
        return True
    return part.keys() <= cells.keys() and normal({k: cells[k] for k in part}) == part


def _meeting(
    cells: Cells, joints: Joints
) -> tuple[Meeting, frozenset[tuple[int, int]], tuple[bool, bool]]:
    """Return how well all edges meet, which pages do, and whether slanted lines do on each axis.

    Lines that run off the outer edges count as unmet.
    """
    at = {cell: k for k, cell in cells.items()}
    total = Meeting()
    joined: set[tuple[int, int]] = set()
    slanted = [True, True]
    for (column, row), k in at.items():
        for side, cell in (
            ("right", (column + 1, row)),
            ("low", (column, row + 1)),
            ("left", (column - 1, row)),
            ("high", (column, row - 1)),
        ):
            if cell not in at:
                total += joints.beyond(k, side)
            elif side in ("right", "low"):
                one = joints.between(k, at[cell], side=side)
                total += one
                if one.met:
                    joined.add((k, at[cell]))
                    axis = 0 if side == "right" else 1
                    slanted[axis] = slanted[axis] and one.slanted
    return total, frozenset(joined), (slanted[0], slanted[1])
