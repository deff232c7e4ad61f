"""The cutting machine of a shop, and the file that describes it."""

from __future__ import annotations

import re
import tomllib
from dataclasses import dataclass
from enum import StrEnum
from pathlib import Path as FilePath
from typing import Annotated, Any

from pydantic import BaseModel, BeforeValidator, ConfigDict, Field, ValidationError

from nesting.amounts import Amounts
from nesting.bounded import endless_key, text_of, unread_value
from nesting.errors import JobError, MachineError
from nesting.limits import LARGEST_MACHINE
from nesting.units import length, unit_of
from nesting.writing.machines.formats import Format
from nesting.writing.neutral.drawing import Operation

__all__ = ["Kind", "Machine", "Tool", "read_machine"]


class Kind(StrEnum):
    """What cuts."""

    LASER = "laser"
    DRAG_KNIFE = "drag knife"
    ROTARY_KNIFE = "rotary knife"
    STRAIGHT_KNIFE = "straight knife"
    OSCILLATING_KNIFE = "oscillating knife"
    DIE = "die"
    PLOTTER = "plotter"
    SHEARS = "shears"

    @property
    def has_kerf(self) -> bool:
        """Whether the tool takes material away along the line."""
        return self is Kind.LASER

    @property
    def is_knife(self) -> bool:
        """Whether a blade runs along the line."""
        return self.value.endswith("knife")


RUN = (Operation.MARK, Operation.TEXT, Operation.DRILL, Operation.NOTCH, Operation.CUT)
"""What a machine can do, in the order in which it is done."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Tool:
    """What does one operation: `name` of the tool, and how a file asks for it.

    `layer`: the layer's name or number in a DXF, the group's in an SVG; `pen`: the
    number in HP-GL; `colour`: the stroke's, ``#rrggbb``, in an SVG and on a DXF layer.
    """

    operation: Operation
    name: str
    layer: str
    pen: int
    colour: str

    def asked_in(self, form: Format) -> str:
        """Return how a file of this format asks for the tool: what is asked alike is done alike."""
        if form is Format.HPGL:
            return str(self.pen)
        return f"{self.layer} {self.colour}" if form is Format.SVG else self.layer


@dataclass(frozen=True, slots=True, kw_only=True)
class Machine:
    """One machine of a shop; lengths in mm, speeds in mm/s.

    `bed_length` along the cloth, `bed_width` across it. `advances`: the cloth is moved
    on, so that a long lay is cut in windows. `drops_parts`: a part that is cut out
    falls or shifts. `kerf`: full width of the cut (lasers). `blade_offset`: how far
    the blade's tip trails its axis (drag knives); the file allows for it if
    `compensates`, else the machine's controller does. `over_cut`: how far a blade runs
    on past the start of a closed outline. `smallest_corner`: the smallest radius of an
    inner corner that can be cut. `tools`: one for each operation that is done at all.
    `travel_speed`, `cutting_speed`: as typed by the user, for estimates of time only.
    `long_coordinates`: HP-GL coordinates may exceed 16 bits. `curves`: true arcs and
    splines instead of polylines (where the format has them); `chord`: how far chords
    may lie from the curve otherwise. `line_width`: of the lines in an SVG.
    `footer`: HP-GL commands at the end of a job.
    """

    name: str
    kind: Kind
    reads: tuple[Format, ...]
    bed_length: float
    bed_width: float
    tools: tuple[Tool, ...] = ()
    advances: bool = False
    drops_parts: bool = False
    kerf: float = 0.0
    blade_offset: float = 0.0
    compensates: bool = False
    over_cut: float = 0.0
    smallest_corner: float = 0.0
    travel_speed: float | None = None
    cutting_speed: float | None = None
    long_coordinates: bool = False
    curves: bool = False
    chord: float = 0.05
    line_width: float = 0.1
    footer: str = ""
    file: str | None = None

    def tool(self, operation: Operation) -> Tool | None:
        """Return the tool that does an operation, None if it is not done."""
        return next((tool for tool in self.tools if tool.operation is operation), None)


def _speed(value: Any) -> float:
    """Return mm/s from a number of them, or from a length a second or a minute."""
    if not isinstance(value, str):
        return length(value)
    far, slash, time = (word.strip() for word in value.partition("/"))
    if "/" in time:  # of the length's fraction: "1/2 in/s"
        far, slash, time = (word.strip() for word in value.rpartition("/"))
    if slash and time not in _TIMES:
        raise JobError(f'"{value[:40]}" is not a speed', hint='write "400 mm/s" or "16 in/s"')
    if not slash and unit_of(far):
        raise JobError(f'"{value[:40]}" is a length, not a speed', hint=f'write "{far[:40]}/s"')
    return length(far) / _TIMES.get(time, 1.0)


_TIMES = {"s": 1.0, "min": 60.0}
_In_mm = BeforeValidator(length)
_Length = Annotated[float, _In_mm, Field(ge=0.0, le=100_000.0, allow_inf_nan=False)]
_Size = Annotated[float, _In_mm, Field(gt=0.0, le=100_000.0, allow_inf_nan=False)]
_Speed = Annotated[float, BeforeValidator(_speed), Field(gt=0.0, le=100_000.0, allow_inf_nan=False)]


class _Strict(BaseModel):
    model_config = ConfigDict(extra="forbid", strict=True)


class _Bed(_Strict):
    length: _Size
    width: _Size
    advances: bool = False
    drops_parts: bool = False


class _Speeds(_Strict):
    travel: _Speed
    cutting: _Speed


class _Tool(_Strict):
    tool: Annotated[str, Field(min_length=1)]
    layer: Annotated[str, Field(pattern=r"^[A-Za-z0-9_$-]{1,31}$")] | int | None = None
    pen: Annotated[int, Field(ge=1, le=255)] = 1
    colour: Annotated[str, Field(pattern=r"^#[0-9a-fA-F]{6}$")] = "#000000"


class _File(_Strict):
    name: Annotated[str, Field(min_length=1)]
    kind: Annotated[Kind, Field(strict=False)]
    reads: Annotated[list[Annotated[Format, Field(strict=False)]], Field(min_length=1)] | None = (
        None
    )
    bed: _Bed
    kerf: _Length = 0.0
    blade_offset: _Length = 0.0
    compensates: bool = False
    over_cut: _Length = 0.0
    smallest_corner: _Length = 0.0
    speed: _Speeds | None = None
    long_coordinates: bool = False
    curves: bool = False
    chord: Annotated[float, _In_mm, Field(ge=0.001, le=1.0, allow_inf_nan=False)] = 0.05
    line_width: Annotated[float, _In_mm, Field(gt=0.0, le=10.0, allow_inf_nan=False)] = 0.1
    footer: Annotated[str, Field(pattern=r"^([A-Z]{2}[0-9,;. -]*;)*$")] = ""
    tools: dict[Annotated[Operation, Field(strict=False)], _Tool] = {}


def read_machine(path: str | FilePath) -> Machine:
    """Read a machine file.

    Parameters
    ----------
    path
        The file (TOML; plain lengths in mm, plain speeds in mm/s).

    Returns
    -------
    Machine
        What `cut_plan` writes for.

    Raises
    ------
    MachineError
        If the file can't be read, isn't TOML, or a value in it can't be used; the
        message names the file, the field and its line.

    Examples
    --------
    >>> from pathlib import Path as File
    >>> _ = File("plotter.toml").write_text(
    ...     '''
    ...     name = "Roll plotter"
    ...     kind = "plotter"
    ...     reads = ["hpgl"]
    ...     bed = { length = 10000.0, width = 1600.0 }
    ...     tools.cut = { tool = "pen", pen = 1 }
    ...     tools.mark = { tool = "pen", pen = 2 }
    ...     tools.text = { tool = "pen", pen = 2 }
    ...     tools.notch = { tool = "pen", pen = 1 }
    ...     tools.drill = { tool = "pen", pen = 1 }
    ...     '''
    ... )
    >>> read_machine("plotter.toml").name
    'Roll plotter'

    """
    where = str(path)
    text = text_of(FilePath(path), most=LARGEST_MACHINE, what="a machine file", error=MachineError)
    if (endless := endless_key(text)) is not None:
        raise MachineError("a key has far too many steps", file=where, line=endless)
    try:
        raw = tomllib.loads(text)
    except RecursionError:
        raise MachineError("tables or lists are nested far too deeply", file=where) from None
    except tomllib.TOMLDecodeError as error:
        line = re.search(r"line (\d+)", str(error))
        raise MachineError(
            "this is not valid TOML: " + re.sub(r"\s*\(at .*\)$", "", str(error)),
            file=where,
            line=int(line[1]) if line else None,
        ) from error
    except ValueError as error:
        raise MachineError(f"a value can't be read: {unread_value(error)}", file=where) from None
    return _machine(raw, text=text, file=where)


def _machine(raw: dict[str, Any], *, text: str, file: str) -> Machine:
    def error(what: str, field: str, hint: str | None = None) -> MachineError:
        return MachineError(
            what, file=file, field=field, line=_line(text, field.split(".")), hint=hint
        )

    try:
        given = _File.model_validate(raw)
    except ValidationError as invalid:
        first = invalid.errors()[0]
        field = ".".join(str(step) for step in first["loc"] if step not in ("[key]", "int"))
        hint = None
        if first["type"] == "extra_forbidden":
            hint = "no such field; see the example shops"
        elif first["type"] == "enum":
            hint = "one of " + str(first["ctx"]["expected"]).replace(" or ", ", ")
        what = first["msg"]
        if first["type"] == "value_error" and isinstance(cause := first["ctx"]["error"], JobError):
            what, hint = cause.what, cause.hint
        raise error(_lower(what), field, hint) from invalid
    machine = Machine(
        name=given.name,
        kind=given.kind,
        reads=tuple(given.reads or ()),
        bed_length=given.bed.length,
        bed_width=given.bed.width,
        advances=given.bed.advances,
        drops_parts=given.bed.drops_parts,
        tools=tuple(_tool(operation, given.tools[operation]) for operation in given.tools),
        travel_speed=given.speed.travel if given.speed else None,
        cutting_speed=given.speed.cutting if given.speed else None,
        file=file,
        **given.model_dump(
            include={
                "kerf",
                "blade_offset",
                "compensates",
                "over_cut",
                "smallest_corner",
                "long_coordinates",
                "curves",
                "chord",
                "line_width",
                "footer",
            }
        ),
    )
    for field, what, hint in _contradictions(machine, raw):
        raise error(what, field, hint)
    return machine


def _tool(operation: Operation, given: _Tool) -> Tool:
    layer = operation.value.upper() if given.layer is None else str(given.layer)
    return Tool(
        operation=operation, name=given.tool, layer=layer, pen=given.pen, colour=given.colour
    )


_PLAIN = "a number without a unit is in mm"


def _contradictions(machine: Machine, raw: dict[str, Any]) -> list[tuple[str, str, str]]:
    """Return what can't be true of one machine: field, what, hint. `raw`: as it was written."""

    def said(key: str, mm: float) -> str:
        return Amounts(unit_of(str(raw.get(key))) or "mm").tool(mm)

    kind, out = machine.kind, []
    done = {tool.operation for tool in machine.tools}
    if machine.kerf and not kind.has_kerf:
        out.append(("kerf", f"a {kind} has no kerf", "leave it out; only a laser has one"))
    if machine.kerf > 5.0:
        out.append(("kerf", f"a kerf of {said('kerf', machine.kerf)} is not credible", _PLAIN))
    if machine.blade_offset and kind is not Kind.DRAG_KNIFE:
        out.append(("blade_offset", f"a {kind} has no trailing blade", "leave it out"))
    if machine.blade_offset > 5.0:
        out.append(
            (
                "blade_offset",
                f"an offset of {said('blade_offset', machine.blade_offset)} is not credible",
                _PLAIN,
            )
        )
    if machine.compensates and not machine.blade_offset:
        out.append(("compensates", "there is no blade_offset to compensate for", "give the offset"))
    if machine.over_cut and not kind.is_knife:
        out.append(("over_cut", f"over-cut is for knives, not for a {kind}", "leave it out"))
    if kind is not Kind.SHEARS and not machine.reads:
        out.append(("reads", "it is not said what the machine reads", "dxf-r12, dxf, svg or hpgl"))
    if kind is Kind.SHEARS and machine.reads:
        out.append(("reads", "shears read no file", "leave it out, and print templates"))
    if kind is not Kind.SHEARS and Operation.CUT not in done:
        out.append(("tools", "no tool does the cutting", "add a table [tools.cut]"))
    out.extend(
        (f"tools.{operation}", f"nothing is run for {operation!s}", "it is there to look at")
        for operation in sorted(done - set(RUN))
    )
    return out


def _lower(message: str) -> str:
    return message[:1].lower() + message[1:]


def _line(text: str, steps: list[str]) -> int | None:
    """Return the line (from 1) on which a dotted field, or the table it lacks from, stands."""
    table: list[str] = []
    best: tuple[int, int | None] = (0, None)
    for number, line in enumerate(text.splitlines(), 1):
        if header := re.match(r"\s*\[([^\[\]]+)\]\s*(#.*)?$", line):
            table = [part.strip().strip("\"'") for part in header[1].split(".")]
            key = table
        elif pair := re.match(r"\s*([\w.\"'-]+)\s*=", line):
            key = table + [part.strip("\"'") for part in pair[1].split(".")]
        else:
            continue
        if len(key) > best[0] and key == steps[: len(key)]:
            best = (len(key), number)
    return best[1]
