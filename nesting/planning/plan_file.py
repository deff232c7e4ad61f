"""The stored plan, ``plan.json``: all that the other files are made from, without searching.

The file is one JSON object (UTF-8)::

    {"format": "thriftlay plan",
     "version": 2,
     "pieces": [{...}, ...],
     "plan": {"job": {...}, "entries": [...], "seconds": 12.3, "program": "thriftlay 0.2.0"}}

Below ``plan`` an object is one of the program's own dataclasses (`Plan`, `Job`,
`Entry`, `Marker`, ...), its keys the fields' names; a field that has its default is
left out. Lengths are mm, areas mm², angles degrees counter-clockwise, y upwards.
Some things are written shorter than they are held, each by its own type (`nesting.stored`):

- Where a `Piece` belongs stands its index in ``pieces``: every distinct piece is
  written once, however many copies are laid.
- A `Path` is one string of words (`nesting.pattern.path_words`).
- A `Quantity` is a number; its unit follows from the material (`nesting.planning.stored.units`).

Whoever changes a field's meaning raises `PLAN_VERSION`; a new field with a default
needs no new version.
"""

from __future__ import annotations

import json
from collections.abc import Callable
from functools import lru_cache
from pathlib import Path as FilePath
from typing import Annotated, Any, Literal

from pydantic import AfterValidator, ConfigDict, TypeAdapter, ValidationError, ValidationInfo
from pydantic.dataclasses import dataclass

from nesting.bounded import text_of
from nesting.errors import PlanError
from nesting.limits import LARGEST_PLAN
from nesting.pattern.piece import Piece
from nesting.planning.plan import PLAN_VERSION, Plan
from nesting.planning.stored.refusal import refuse_contradictions
from nesting.planning.stored.units import with_units, without_units
from nesting.whole import whole_file

__all__ = ["load_plan", "plan_from_text", "plan_text", "save_plan"]

FORMAT: Literal["thriftlay plan"] = "thriftlay plan"

_Json = Any
_MOST = 1e15
"""No number of a plan is larger: square millimetres of a square kilometre are 10¹²."""


def _known(pieces: tuple[Piece, ...], info: ValidationInfo) -> tuple[Piece, ...]:
    """Note the pieces for what follows in the file, which has their indices."""
    assert info.context is not None
    info.context["pieces"] = pieces
    return pieces


@dataclass(
    config=ConfigDict(extra="forbid", allow_inf_nan=False, strict=True), frozen=True, kw_only=True
)
class _File:
    """The fields in the order in which they are read: pieces before the plan."""

    format: Literal["thriftlay plan"]
    version: Literal[2]
    pieces: Annotated[tuple[Piece, ...], AfterValidator(_known)]
    plan: Plan


@lru_cache(maxsize=1)
def _adapter() -> TypeAdapter[_File]:
    return TypeAdapter(_File)


@lru_cache(maxsize=1)
def _plan_adapter() -> TypeAdapter[Plan]:
    return TypeAdapter(Plan)


class _Table:
    """The pieces of a plan that is written, each once: as they stand in the file."""

    def __init__(self) -> None:
        self._by_text: dict[str, int] = {}
        self._by_id: dict[int, int] = {}
        self.rows: list[_Json] = []

    def index(self, piece: Piece, plain: Callable[[], _Json]) -> int:
        """Return the row of a piece, a new one if it is not there; `plain` gives its form."""
        if id(piece) not in self._by_id:
            row = plain()
            text = json.dumps(row, ensure_ascii=False)
            if text not in self._by_text:
                self._by_text[text] = len(self.rows)
                self.rows.append(row)
            self._by_id[id(piece)] = self._by_text[text]
        return self._by_id[id(piece)]


def plan_text(plan: Plan) -> str:
    """Return the plan as it stands in its file."""
    table = _Table()
    short = _plan_adapter().serializer.to_python(
        without_units(plan), mode="json", exclude_defaults=True, context={"pieces": table}
    )
    whole = {"format": FORMAT, "version": PLAN_VERSION, "pieces": table.rows, "plan": short}
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
    if not isinstance(tree.get("pieces"), list):
        raise PlanError("has to be a list", field="pieces", hint=_AGAIN)
    _refuse_beyond_reason(tree)
    try:
        plan = _adapter().validate_json(json.dumps(tree), context={}).plan
    except ValidationError as error:
        raise _said(error) from error
    plan = with_units(plan)
    refuse_contradictions(plan)
    return plan


def _refuse_beyond_reason(node: _Json, where: str = "") -> None:
    """Refuse a number that nothing of a plan can have; `where` names its place."""
    if isinstance(node, dict):
        for key, value in node.items():
            _refuse_beyond_reason(value, f"{where}.{key}" if where else key)
    elif isinstance(node, list):
        for i, item in enumerate(node):
            _refuse_beyond_reason(item, f"{where}.{i}")
    elif isinstance(node, int | float) and not abs(node) <= _MOST:
        raise PlanError("the number is beyond reason", field=where, hint=_AGAIN)


def _said(error: ValidationError) -> PlanError:
    """Say the first of pydantic's findings, the deepest of a choice, in one line.

    Where a piece can't be read none is there for the plan: of that nothing is said.
    """
    errors = error.errors(include_url=False)
    mine = [one for one in errors if one["loc"][:1] == errors[0]["loc"][:1]]
    found = max(mine, key=lambda one: len(one["loc"]))
    field = ".".join(str(step) for step in found["loc"] if step != "")
    return PlanError(found["msg"][:1].lower() + found["msg"][1:], field=field, hint=_AGAIN)
