"""The stored plan, ``plan.json``: all that the other files are made from, without searching.

The file is one JSON object (UTF-8)::

    {"format": "thriftlay plan",
     "version": 2,
     "pieces": [{...}, ...],
     "plan": {"job": {...}, "entries": [...], "seconds": 12.3, "program": "thriftlay 0.2.0"}}

Below ``plan`` an object is one of the program's own dataclasses (`Plan`, `Job`,
`Entry`, `Marker`, ...), its keys the fields' names; a field that has its default is
left out. Lengths are mm, areas mm², angles degrees counter-clockwise, y upwards.
Three things are written shorter than they are held:

- Where a `Piece` belongs stands its index in ``pieces``: every distinct piece is
  written once, however many copies are laid.
- A path is one string of words: ``M x y`` where it starts, then ``L x y`` a line to,
  ``C x y x y x y`` a cubic Bézier curve to, and ``A cx cy ux uy vx vy begin sweep``
  the arc centre + u·cos t + v·sin t for t (radians) from ``begin`` over ``sweep``. A
  segment that starts anywhere else than the last one ended, be it by a rounding
  error, has its own ``M``: numbers are written so that they read back exactly.

- A bound (``bound`` of a search, ``amount`` of a material's bound) is a number; its unit is
  what the material is taken in: mm, sheets or hides.

Whoever changes a field's meaning raises `PLAN_VERSION`; a new field with a default
needs no new version.
"""

from __future__ import annotations

import json
from collections.abc import Iterator
from functools import lru_cache
from pathlib import Path as FilePath
from typing import Any, Literal

from pydantic import ConfigDict, TypeAdapter, ValidationError
from pydantic.dataclasses import dataclass

from nesting.bounded import text_of
from nesting.errors import PlanError
from nesting.limits import LARGEST_PLAN
from nesting.planning.plan import PLAN_VERSION, Plan
from nesting.planning.plan_refusal import refuse_contradictions
from nesting.planning.plan_units import with_units, without_units
from nesting.whole import whole_file

__all__ = ["load_plan", "plan_from_text", "plan_text", "save_plan"]

FORMAT: Literal["thriftlay plan"] = "thriftlay plan"

_Json = Any
_MOST = 1e15
"""No number of a plan is larger: square millimetres of a square kilometre are 10¹²."""
_WORDS = {"M": 2, "L": 2, "C": 6, "A": 8}


@dataclass(
    config=ConfigDict(extra="forbid", allow_inf_nan=False, strict=True), frozen=True, kw_only=True
)
class _File:
    format: Literal["thriftlay plan"]
    version: Literal[2]
    plan: Plan


@lru_cache(maxsize=1)
def _adapter() -> TypeAdapter[_File]:
    return TypeAdapter(_File)


def plan_text(plan: Plan) -> str:
    """Return the plan as it stands in its file."""
    file = _File(format=FORMAT, version=2, plan=plan)
    tree = json.loads(_adapter().dump_json(file, exclude_defaults=True))
    without_units(tree["plan"])
    pieces: dict[str, int] = {}
    short = _shortened(tree["plan"], pieces)
    table = [json.loads(text) for text in pieces]
    whole = {"format": FORMAT, "version": PLAN_VERSION, "pieces": table, "plan": short}
    return json.dumps(whole, ensure_ascii=False, allow_nan=False, indent=1) + "\n"


def save_plan(plan: Plan, path: FilePath) -> None:
    """Write a plan, whole or not at all, in place of what was there.

    Parameters
    ----------
    plan
        What to write.
    path
        The file (JSON).

    Raises
    ------
    WriteError
        The file can't be written.

    Examples
    --------
    >>> save_plan(plan, "plan.json")

    """
    with whole_file(FilePath(path), overwrite=True) as temporary:
        temporary.write_text(plan_text(plan), encoding="utf-8")


def load_plan(path: FilePath | str) -> Plan:
    """Read a plan back, equal in every number to the one that was saved.

    Parameters
    ----------
    path
        Its ``plan.json``.

    Returns
    -------
    Plan
        With the findings that were stored; `check` judges its markers again.

    Raises
    ------
    PlanError
        The file can't be read, is no plan of this version, or contradicts itself; says
        in which field.

    Examples
    --------
    >>> save_plan(plan, "plan.json")
    >>> load_plan("plan.json") == plan
    True

    """
    path = FilePath(path)
    try:
        text = text_of(path, most=LARGEST_PLAN, what="a plan.json", error=PlanError)
        return plan_from_text(text)
    except PlanError as error:
        raise error.located(file=str(path)) from error


_AGAIN = "lay the job again"


def plan_from_text(text: str) -> Plan:
    """Read a plan from the text of its file."""
    try:
        tree = json.loads(text)
    except json.JSONDecodeError as error:
        raise PlanError(
            f"is not JSON, or cut short: {error.msg.lower()}", line=error.lineno, hint=_AGAIN
        ) from error
    except (RecursionError, ValueError) as error:
        raise PlanError("is not JSON that a plan can hold", hint=_AGAIN) from error
    if not isinstance(tree, dict) or tree.get("format") != FORMAT:
        raise PlanError("is not a plan of this program", field="format", hint=_AGAIN)
    version = tree.get("version")
    if version != PLAN_VERSION or isinstance(version, bool):
        raise PlanError(
            f"has version {version!r}, this program reads version {PLAN_VERSION}",
            field="version",
            hint=_AGAIN,
        )
    unknown = sorted(set(tree) - {"format", "version", "pieces", "plan"})
    if unknown:
        raise PlanError("is not a key of a plan", field=unknown[0])
    pieces = tree.pop("pieces", None)
    if not isinstance(pieces, list):
        raise PlanError("has to be a list", field="pieces", hint=_AGAIN)
    pieces = [_lengthened(piece, [], f"pieces.{i}") for i, piece in enumerate(pieces)]
    tree["plan"] = _lengthened(tree.get("plan"), pieces, "plan")
    with_units(tree["plan"])
    try:
        plan = _adapter().validate_json(json.dumps(tree)).plan
    except ValidationError as error:
        raise _said(error) from error
    refuse_contradictions(plan)
    return plan


def _said(error: ValidationError) -> PlanError:
    """Say the first of pydantic's findings, the deepest of a choice, in one line."""
    found = max(error.errors(include_url=False), key=lambda e: len(e["loc"]))
    field = ".".join(str(step) for step in found["loc"])
    return PlanError(found["msg"][:1].lower() + found["msg"][1:], field=field, hint=_AGAIN)


def _shortened(node: _Json, pieces: dict[str, int]) -> _Json:
    """Put strings for paths and indices for pieces; sort what comes from sets."""
    if isinstance(node, list):
        return [_shortened(item, pieces) for item in node]
    if not isinstance(node, dict):
        return node
    if node.keys() == {"segments"}:
        return _path_words(node["segments"])
    short = {key: _shortened(value, pieces) for key, value in node.items()}
    if "cut" in short and "name" in short:
        return pieces.setdefault(json.dumps(short, ensure_ascii=False), len(pieces))
    if "kind" in short:  # a mark: its sets come in no order
        for key in ("copies", "hands", "materials"):
            if isinstance(short.get(key), list):
                short[key] = sorted(short[key])
    return short


def _path_words(segments: list[dict[str, _Json]]) -> str:
    words: list[str] = []
    here: list[float] | None = None
    for segment in segments:
        if "sweep" in segment:
            numbers = [*segment["centre"], *segment["u"], *segment["v"]]
            words += ["A", *map(repr, [*numbers, segment["begin"], segment["sweep"]])]
            here = None
            continue
        if segment["start"] != here:
            words += ["M", *map(repr, segment["start"])]
        here = segment["end"]
        if "first" in segment:
            words += ["C", *map(repr, [*segment["first"], *segment["second"], *here])]
        else:
            words += ["L", *map(repr, here)]
    return " ".join(words)


def _lengthened(node: _Json, pieces: list[_Json], where: str, key: str = "") -> _Json:
    """Undo `_shortened`; `where` names the place for errors, `key` the field."""
    if isinstance(node, list):
        return [_lengthened(item, pieces, f"{where}.{i}", key) for i, item in enumerate(node)]
    if isinstance(node, dict):
        return {k: _lengthened(v, pieces, f"{where}.{k}", k) for k, v in node.items()}
    if isinstance(node, str) and key in _PATHS:
        return {"segments": list(_segments(node, where))}
    if isinstance(node, int | float) and not abs(node) <= _MOST:
        raise PlanError("the number is beyond reason", field=where, hint=_AGAIN)
    if isinstance(node, int) and not isinstance(node, bool) and key in _PIECES:
        if not 0 <= node < len(pieces):
            raise PlanError(f"piece {node} is not in the plan", field=where, hint=_AGAIN)
        return pieces[node]
    return node


_PATHS = frozenset({"cut", "holes", "sew", "path", "outline", "outlines", "flaws"})
_PIECES = frozenset({"piece", "pieces"})


def _segments(text: str, where: str) -> Iterator[dict[str, _Json]]:
    words = iter(text.split())
    here: list[float] | None = None
    for command in words:
        wanted = _WORDS.get(command)
        if wanted is None:
            raise PlanError(f"{command[:20]!r} is no path command", field=where, hint=_AGAIN)
        try:
            n = [float(next(words)) for _ in range(wanted)]
        except (ValueError, StopIteration):
            raise PlanError(f"{command} needs {wanted} numbers", field=where, hint=_AGAIN) from None
        if command == "A":
            yield {"centre": n[0:2], "u": n[2:4], "v": n[4:6], "begin": n[6], "sweep": n[7]}
            here = None
            continue
        if command != "M":
            if here is None:
                raise PlanError("a path has to start with M or A", field=where, hint=_AGAIN)
            if command == "L":
                yield {"start": here, "end": n}
            else:
                yield {"start": here, "first": n[0:2], "second": n[2:4], "end": n[4:6]}
        here = n[-2:]
