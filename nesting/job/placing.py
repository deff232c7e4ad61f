"""Where a mark of a job file is put that is not placed by coordinates."""

from __future__ import annotations

from nesting.job.desk import Desk
from nesting.job.locate import Place
from nesting.job.tables.piece_table import MarkTable
from nesting.pattern.path import Affine, Path, Point
from nesting.pattern.sides import Spot, centre, from_edge
from nesting.tolerance import TOLERANCE

__all__ = ["put", "spot_of"]


def spot_of(table: MarkTable, place: Place, desk: Desk, *, drawn: Path) -> Spot | None:
    """Return where a mark is put by the piece's centre or an edge; None if by neither.

    `drawn`: the piece's outline as it was drawn.
    """
    ways = [way for way in ("at", "from_centre", "edge") if getattr(table, way) is not None]
    if len(ways) > 1:
        raise desk.error(
            f"its place is given twice, by {ways[0]} and {ways[1]}",
            (*place, ways[1]),
            hint="leave one of them out",
        )
    for key, value in (("in", table.in_), ("along", table.along)):
        if value is not None and table.edge is None:
            raise desk.error(
                f'"{key}" is measured from an edge', (*place, key), hint='give edge = "top"'
            )
    if table.from_centre is not None:
        x, y = centre(drawn)
        dx, dy = table.from_centre
        return Spot((x + dx, y + dy), (1.0, 0.0), (0.0, 0.0))
    if table.edge is None:
        return None
    with desk.at((*place, "edge")):
        return from_edge(drawn, table.edge, along=table.along, inwards=table.in_ or 0.0)


def put(path: Path, spot: Spot) -> Path:
    """Return a shape moved to a spot: from an edge it begins there, else its middle is there."""
    if spot.inward == (0.0, 0.0):
        x, y = centre(path)
        return path.transformed(Affine.move(spot.at[0] - x, spot.at[1] - y))
    points = path.points(TOLERANCE.chord)
    (ax, ay), (ix, iy) = spot.along, spot.inward

    def across(p: Point) -> float:
        return (p[0] - spot.at[0]) * ix + (p[1] - spot.at[1]) * iy

    def off(p: Point) -> float:
        return (p[0] - spot.at[0]) * ax + (p[1] - spot.at[1]) * ay

    near = -min(map(across, points))
    aside = -0.5 * (min(map(off, points)) + max(map(off, points)))
    return path.transformed(Affine.move(near * ix + aside * ax, near * iy + aside * ay))
