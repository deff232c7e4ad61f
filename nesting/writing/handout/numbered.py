"""The lays behind a requirement table, numbered: in which file each is stored."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from nesting.planning.handout.needed import Needed, Needs

__all__ = ["StoredLay", "lay_of", "numbered"]


@dataclass(frozen=True, slots=True, kw_only=True)
class StoredLay:
    """One marker, and the rows that it holds for; the first one's rules are the strictest."""

    number: int
    rows: tuple[Needed, ...]

    @property
    def row(self) -> Needed:
        """The row by whose rules it is laid and stored."""
        return self.rows[0]

    @property
    def file(self) -> str:
        """The name of the file that it is stored in: a plan of its own."""
        return f"lay-{self.number}.json"


def numbered(needs: Needs) -> tuple[StoredLay, ...]:
    """Return a lay for each number of the table; one that serves both directions stands once."""
    found: list[list[Needed]] = []
    for row in needs.rows:
        if row.entry is None or not row.entry.marker.placements:
            continue
        if same := next((rows for rows in found if _serves(rows[0], row)), None):
            same.append(row)
        else:
            found.append([row])
    return tuple(StoredLay(number=i, rows=tuple(rows)) for i, rows in enumerate(found, start=1))


def _serves(strict: Needed, free: Needed) -> bool:
    """Whether a marker with one end up is as good as the one without."""
    same = (strict.material, strict.width, strict.size) == (free.material, free.width, free.size)
    ways = strict.one_way is True and free.one_way is False
    return same and ways and strict.certain and strict.gross <= free.gross


def lay_of(lays: tuple[StoredLay, ...], row: Needed) -> Iterator[StoredLay]:
    """Give the lay that a row's number comes from, if it has one."""
    return (lay for lay in lays if any(row is one for one in lay.rows))
