"""The shape of a piece on the page: points of its outline, and where it is folded back."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from nesting.errors import JobError
from nesting.job.by_hand.reshaping import first_fold_back, point_moved, point_out, point_put
from nesting.units import length

from .edits.piece_edits import plain_value
from .pointed import pair_of, point_of

if TYPE_CHECKING:
    from nesting.amounts import Amounts
    from nesting.job.by_hand.drawn import Drawn

__all__ = ["drawn_elsewhere", "folded_back", "reshaped"]

Json = dict[str, Any]


def drawn_elsewhere(table: Any) -> bool:
    """Whether the outline of a piece is not the job file's own."""
    return bool({"strap", "binding", "from"} & set(table))


def reshaped(drawn: Drawn, table: Any, asked: Json, amounts: Amounts) -> Json:
    """Return what the table of a piece says once a point of its outline is moved, put or taken."""
    if drawn_elsewhere(table):
        raise JobError("the shape of that piece is drawn elsewhere", hint="change it there")
    number = asked.get("index")
    if number is None:
        to = point_of(asked["to"]) if "to" in asked else None
        return point_put(drawn, table, point_of(asked["at"]), to=to, amounts=amounts)
    if asked.get("out") is True:
        return point_out(drawn, table, int(number), amounts=amounts)
    if "place" in asked:
        x, y = (length(one, unit=amounts.unit) for one in _two(str(asked["place"])))
        return point_moved(drawn, table, int(number), to=(x, y), amounts=amounts)
    return point_moved(drawn, table, int(number), by=point_of(asked["by"]), amounts=amounts)


def _two(text: str) -> list[str]:
    found = pair_of(text)
    if len(found) != 2:
        raise JobError(f"{text[:40]!r} is no place", hint="write 12 cm x 3 cm")
    return found


def folded_back(drawn: Drawn, table: Any, asked: Json, amounts: Amounts) -> list[Any] | None:
    """Return the line of the shorter version as the file has it; None takes it out."""
    do, ends = asked.get("do"), drawn.piece.fold_back
    if do == "out":
        return None
    if do == "add":
        ends = first_fold_back(drawn)
    elif ends is None:
        raise JobError("the piece has no fold-back line any more", hint="add one")
    elif do == "turn":
        return [plain_value(table["fold_back"][1]), plain_value(table["fold_back"][0])]
    elif "place" in asked:
        written = [plain_value(one) for one in _two(str(asked["place"]))]
        kept = [plain_value(one) for one in table["fold_back"]]
        return [written if end == int(asked["end"]) else kept[end] for end in (0, 1)]
    else:
        (dx, dy), end = point_of(asked["by"]), int(asked["end"])
        moved = [(x + dx, y + dy) if n == end else (x, y) for n, (x, y) in enumerate(ends)]
        ends = (moved[0], moved[1])
    return [[amounts.by_hand(side) for side in at] for at in ends]
