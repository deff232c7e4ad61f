"""The page about the job file's format, written from the tables that check it.

``python -m nesting.job.format_page > sample_markers/FORMAT.md`` writes it anew; a test
holds that it is up to date.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from pydantic import BaseModel
from pydantic.fields import FieldInfo
from pydantic_core import PydanticUndefined

from nesting.job.job_table import (
    BagTable,
    CutTable,
    HeadTable,
    IncludeTable,
    JobTable,
    MatchTable,
    NotionTable,
    TableTable,
)
from nesting.job.material_table import (
    ClothTable,
    GoodsTable,
    HideTable,
    LeatherTable,
    PrintTable,
    RemnantTable,
    SheetTable,
    ShrinkageTable,
    WidthTable,
    ZoneTable,
)
from nesting.job.piece_table import MarkTable, PieceTable, Shape, ShapeTable

__all__ = ["EXAMPLE", "format_page"]

EXAMPLE = """\
[job]
name = "Pouch"
bags = 2

[[piece]]
name = "front"
rectangle = ["24 cm", "18 cm"]
corner_radius = "2 cm"
seam_allowance = "10 mm"

    [[piece.mark]]
    kind = "drill"
    at = ["12 cm", "9 cm"]
    copies = 1

[[cloth]]
name = "canvas"
width = "140 cm"
price = 18.50

[[cut]]
piece = "front"
material = "canvas"
copies = 2
"""

_HEAD = """\
# The job file

One TOML file says what is made, from what and how often. This is a whole one:

```toml
{example}```

- A length is a number with a unit, `"45 cm"`, `"3/8 in"`, `"1 3/8 yd"`, `'54"'`, or a plain
  number in the job's `unit` (mm if it has none). Units: mm, cm, dm, m, in, ft, yd. Path data
  (`outline`) is always in mm.
- x runs along the grain, y across it and upwards; angles are degrees counter-clockwise.
- A share is `"5 %"` or `0.05`. Where a list is asked for, a single value does.
- Edges of an outline lie between its corners (where it turns by more than 20°). They are
  counted from 1, counter-clockwise from where the outline starts; those of a rectangle
  without corner radius are also called bottom, right, top and left.
- A piece is the right one of a pair as it is drawn; the left one is its mirror image.
- Other files are found from the folder of the file that names them.
- What the file does not say is assumed, and the report lists every assumption. Whatever
  can't be used is refused in one line with its place and what to do.
- `thriftlay schema` prints the format as JSON Schema, for editors.

This page is written by `python -m nesting.job.format_page`.
"""

_SECTIONS: tuple[tuple[str, type[BaseModel], type[BaseModel] | None], ...] = (
    ("Top of the file", JobTable, None),
    ("`[job]`", HeadTable, None),
    ("A shape", Shape, None),
    ("`[[piece]]`", PieceTable, Shape),
    ("`[[piece.hole]]`", ShapeTable, Shape),
    ("`[[piece.mark]]`", MarkTable, Shape),
    ("Any material", GoodsTable, None),
    ("`[[cloth]]`", ClothTable, GoodsTable),
    ("A width, in `widths`", WidthTable, None),
    ("`print` of a cloth", PrintTable, None),
    ("`shrinkage` of a cloth", ShrinkageTable, None),
    ("`[[sheet]]`", SheetTable, GoodsTable),
    ("`[[remnant]]`, `[[sheet.remnant]]`", RemnantTable, Shape),
    ("`[[leather]]`", LeatherTable, GoodsTable),
    ("`[[leather.hide]]`", HideTable, Shape),
    ("`[[leather.hide.flaw]]`", ShapeTable, Shape),
    ("`[[leather.hide.zone]]`", ZoneTable, Shape),
    ("`[[cut]]`", CutTable, None),
    ("`matches` of a cut", MatchTable, None),
    ("`[[notion]]`", NotionTable, None),
    ("`[[bag]]`", BagTable, None),
    ("`[table]`", TableTable, None),
    ("An included file", IncludeTable, None),
)

_BASES = {Shape: "and a shape (above)", GoodsTable: "and what any material has (above)"}


def format_page() -> str:
    """Return the page, in Markdown."""
    parts = [_HEAD.format(example=EXAMPLE)]
    parts += ["\n".join(_section(*section)) + "\n" for section in _SECTIONS]
    return "\n".join(parts)


def _section(title: str, model: type[BaseModel], base: type[BaseModel] | None) -> Iterator[str]:
    schema = model.model_json_schema(by_alias=True)
    said = (model.__doc__ or "").strip().rstrip(".")
    yield f"## {title}"
    yield ""
    yield f"{said}{', ' + _BASES[base] if base else ''}."
    yield ""
    yield "| key | value | default | meaning |"
    yield "|---|---|---|---|"
    for name, field in model.model_fields.items():
        if base is not None and name in base.model_fields:
            continue
        key = field.alias or name
        kind = _kind(schema["properties"][key], schema)
        yield f"| `{key}` | {kind} | {_default(field)} | {_cell(field.description or '')} |"


def _kind(value: dict[str, Any], schema: dict[str, Any]) -> str:
    """Say what a property's value is."""
    if "$comment" in value:
        return str(value["$comment"])
    if "$ref" in value:
        return "table"
    if "anyOf" in value:
        kinds = (_kind(v, schema) for v in value["anyOf"] if v.get("type") != "null")
        return " or ".join(dict.fromkeys(kinds))
    if "enum" in value:
        return ", ".join(f'"{word}"' for word in value["enum"])
    if value.get("type") == "array":
        inner = _kind(value.get("items", {}), schema)
        if inner == "table":
            return "tables"
        return "list of points" if inner.startswith("[") else f"{inner}, or a list"
    if value.get("type") == "object":
        values = value.get("additionalProperties")
        return f"table of {_kind(values, schema)}" if isinstance(values, dict) else "table"
    words = {"string": "text", "boolean": "true, false", "integer": "whole number"}
    return words.get(value.get("type", ""), "number")


def _default(field: FieldInfo) -> str:
    value = field.default
    if value is PydanticUndefined:
        return "needed"
    if value is None or value in ([], {}, ""):
        return ""
    if isinstance(value, bool):
        return str(value).lower()
    if isinstance(value, tuple):
        return f"[{', '.join(f'{number:g}' for number in value)}]"
    return f"{value:g}" if isinstance(value, float) else str(value)


def _cell(text: str) -> str:
    return text.replace("|", "\\|")


if __name__ == "__main__":
    print(format_page(), end="")
