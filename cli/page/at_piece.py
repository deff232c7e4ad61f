"""One piece on the page, large: what is shown of it, and what a hand means that points at it."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from nesting.amounts import Amounts
from nesting.errors import JobError, NestingError
from nesting.job.by_hand.marking import mark_table, moved, put_at, taken_over, worded
from nesting.job.by_hand.own_drawing import drawn_here, same_piece
from nesting.job.tables.fields import RECTANGLE_EDGES
from nesting.writing.pages.live.pieces import grain_meant, grain_turned, live_drawn

from .at_shape import drawn_elsewhere, folded_back, reshaped
from .edits.job_edits import listed, plain
from .edits.piece_edits import MARK_KEYS, marks_of, own, piece_table, plain_value
from .pointed import pair_of, point_of

if TYPE_CHECKING:
    from nesting.job.by_hand.drawn import Drawn

    from .job_file import JobFile

__all__ = ["at_piece", "meant", "turned"]

Json = dict[str, Any]


def at_piece(file: JobFile, asked: Json) -> Json:
    """Return a piece with its edges and marks, and what the file says of them."""
    drawn, table, amounts = _drawn(file, asked), piece_table(file.document, asked), _amounts(file)
    names = _names(table)
    told = live_drawn(drawn, amounts=amounts)
    out = {int(number) for number in table.get("marks_left_out", [])}
    return {
        **told,
        "name": str(table["name"]),
        "seen": file.mark,
        "line": str(table.get("line", "")),
        "up": drawn.piece.up_known,
        "lined": "strap" not in table and "binding" not in table,
        "reshaped": not drawn_elsewhere(table),
        "from": str(table.get("from", "")),
        "seamed": "sewing_line" in table,
        "edges": [{**one, "name": names.get(one["edge"], "")} for one in told["edges"]],
        "marks": [
            {**one, "keys": _keys(own)}
            for one, own in zip(told["marks"], marks_of(table), strict=True)
        ],
        "others": [
            {**one, "number": number, "out": number in out}
            for number, one in enumerate(told["others"], start=1)
        ],
        "goods": [
            str(goods.get("name"))
            for kind in ("cloth", "sheet", "leather")
            for goods in file.document.get(kind, [])
        ],
    }


def _keys(own: Any) -> Json:
    """Return what a mark's table says, as a field shows it."""
    words: Json = dict.fromkeys(MARK_KEYS, "")
    for key in MARK_KEYS:
        if key in own:
            value = own[key]
            words[key] = listed(value) if key in ("hands", "materials") else plain(value)
    return words


def turned(file: JobFile, asked: Json) -> Json:
    """Return which way the grain is meant to run if its arrow points to a place."""
    return grain_meant(_drawn(file, asked), point_of(asked["to"]), free=asked.get("free") is True)


def meant(file: JobFile, asked: Json) -> Json:
    """Return an edit as the file has it, where the page only points."""
    what = asked.get("what")
    if what == "edge" and "allowance" in asked:
        return {**asked, **_others(file, asked)}
    if what == "edge" and asked.get("fold") is True and "from" in piece_table(file.document, asked):
        # A seam line that the file draws does not end at the fold: it is drawn anew, as wide.
        return {**asked, **_others(file, asked)}
    if what == "turn":
        drawn, left = _drawn(file, asked), asked.get("left")
        way = grain_turned(drawn, left=left, far=asked.get("far") is True)
        return {**asked, "what": "piece", "grain": way, "up": drawn.piece.up_known}
    if what == "point":
        there = _drawn(file, asked), piece_table(file.document, asked)
        return {**asked, "what": "shape", **reshaped(*there, asked, _amounts(file))}
    if what == "own":
        return _own(file, asked)
    if what == "fold back":
        there = _drawn(file, asked), piece_table(file.document, asked)
        return {**asked, "line": folded_back(*there, asked, _amounts(file))}
    if what != "mark":
        return asked
    keys = dict(asked.get("keys") or {})
    index = asked.get("index")
    amounts = _amounts(file)
    if "by" in asked and index is not None:
        table = mark_table(_plain(file, asked, int(index)), unit=amounts.unit)
        keys = worded(moved(_drawn(file, asked), int(index), table, point_of(asked["by"])), amounts)
    elif "to" in asked:
        end = None if asked.get("end") is None else point_of(asked["end"])
        at = put_at(
            _drawn(file, asked).outline, str(keys.get("kind")), point_of(asked["to"]), end=end
        )
        keys |= worded(at, amounts)
    elif "number" in asked:
        keys = taken_over(_drawn(file, asked).others[int(asked["number"]) - 1])
    return {**asked, "keys": {key: _typed(key, value) for key, value in keys.items()}}


def _own(file: JobFile, asked: Json) -> Json:
    """Return what draws a piece of a pattern file in the job, if that is the same piece then."""
    drawn, table = _drawn(file, asked), piece_table(file.document, asked)
    if "from" not in table:
        raise JobError("the piece is drawn in the job already")
    keys, marks = drawn_here(drawn, table)
    keys["grain"] = table.get("grain", keys["grain"])
    made = {**asked, "keys": keys, "marks": marks}
    then = file.pieces_after(lambda document: own(document, made)).get(str(asked["piece"]))
    if isinstance(then, NestingError) or then is None or not same_piece(drawn, then):
        raise JobError(
            "the piece would not be the same if it were drawn in the job",
            hint="change it in its file",
        )
    return made


_WORDS = ("kind", "name", "text", "style", "face")


def _typed(key: str, value: Any) -> Any:
    """Return a value as the file has it: a field's text becomes a number, a length or a list."""
    if key in _WORDS or value is None:
        return value
    if key == "copies":
        return [_whole(one) for one in str(value).replace(",", " ").split()] if value else []
    if key in ("hands", "materials"):
        return [str(one) for one in value] if isinstance(value, list) else []
    if key == "points" and isinstance(value, list):
        return [
            _typed("at", point) if isinstance(point, str) else plain_value(point) for point in value
        ]
    if key in ("at", "from_centre", "rectangle") and isinstance(value, str):
        return [plain_value(one) for one in pair_of(value)] if value.strip() else ""
    return plain_value(value)


def _whole(text: str) -> int:
    if not text.isascii() or not text.isdigit():
        raise JobError(f"{text!r} is no number of a copy", hint="write 1, or 1, 3")
    return int(text)


def _others(file: JobFile, asked: Json) -> Json:
    """Return the allowances of the other edges as they are shown, and the edges' names."""
    drawn, amounts = _drawn(file, asked), _amounts(file)
    widths = [
        (number, 0.0 if width is None else width)
        for number, width in enumerate(drawn.allowances, start=1)
        if number not in (asked.get("edge"), drawn.fold)
    ]
    values = [width for _, width in widths]
    usual = max(values, key=values.count, default=0.0)
    others = {"all": amounts.setting(usual)} if usual else {}
    others |= {str(n): amounts.setting(width) for n, width in widths if width != usual}
    names = {} if not _names(piece_table(file.document, asked)) else RECTANGLE_EDGES
    return {"others": others, "names": names}


def _names(table: Any) -> dict[int, str]:
    """Return the names of a rectangle's edges."""
    if "rectangle" not in table or "corner_radius" in table:
        return {}
    return {number: name for name, number in RECTANGLE_EDGES.items()}


def _drawn(file: JobFile, asked: Json) -> Drawn:
    drawn = file.pieces.get(str(asked.get("piece")))
    if drawn is None:
        raise JobError("there is no such piece any more", hint="load the page again")
    if isinstance(drawn, NestingError):
        raise drawn
    return drawn


def _plain(file: JobFile, asked: Json, index: int) -> Json:
    return dict(marks_of(piece_table(file.document, asked))[index].unwrap())


def _amounts(file: JobFile) -> Amounts:
    return Amounts(str(file.document.get("job", {}).get("unit", "mm")))
