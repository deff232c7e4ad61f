"""The page about the job file's format, written from the tables that check it.

What each key means comes from the tables themselves; what a section is for, an example and
a sketch from `examples` and `sketches`.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from typing import Any

from pydantic import BaseModel
from pydantic.fields import FieldInfo
from pydantic_core import PydanticUndefined

from nesting.guide.examples import EXAMPLES, WHOLE
from nesting.guide.sketches import OF_SECTION, SKETCHES
from nesting.job.tables.cloth_table import ClothTable, PrintTable, ShrinkageTable, WidthTable
from nesting.job.tables.job_table import (
    BagTable,
    CutTable,
    HeadTable,
    HeldTable,
    IncludeTable,
    JobTable,
    MatchTable,
    NotionTable,
    TableTable,
)
from nesting.job.tables.leather_table import HideTable, LeatherTable
from nesting.job.tables.material_table import GoodsTable, SheetTable
from nesting.job.tables.picture_table import PictureTable
from nesting.job.tables.piece_table import InSizeTable, MarkTable, PieceTable, Shape, ShapeTable
from nesting.job.tables.remnant_table import RemnantTable, ZoneTable

__all__ = ["format_page"]

_HEAD = """\
# The job file

One TOML file says what is made, from what and how often. Words that are new to you are in
[the words of this trade](WORDS.md). This is a whole job file:

```toml
{whole}```

## What holds everywhere

- **Sections.** `[job]` begins a section, and the keys under it belong to it. `[[piece]]` is one
  of several sections of this name: write it again for the next piece. A small section may also
  stand in braces: `{{ along = "32 cm", across = "32 cm" }}`.
- **Lengths** are a number with a unit, `"45 cm"`, `"3/8 in"`, `"1 3/8 yd"`, `'54"'`, or a plain
  number in the job's `unit` (mm if it says none). Units: mm, cm, dm, m, in, ft, yd. Path data
  (`outline`) is always in mm.
- **Directions.** On cloth, x runs along the selvedge, y across it; on a piece x runs to the right,
  y upwards. Angles are degrees counter-clockwise from x.
- **Shares** are `"5 %"` or `0.05`. Where a list may stand, a single value will do.
- **Edges** of an outline lie between its corners (where it turns by more than 20°). They are
  counted from 1, counter-clockwise from where the outline starts; those of a rectangle without
  rounded corners also have names: bottom, right, top and left.
- **Pairs.** A piece as it is drawn is the right one; the left one is its mirror image.
- **Other files** are found from the folder of the file that names them.
- **What you don't say** is assumed, and the report lists all that was assumed. What can't be used
  is refused in one line that says where it stands and what to do.
- `thriftlay schema` prints all this as JSON Schema, with which an editor can help you.

The examples below are read by a test, the sketches made from them. `python -m nesting.guide`
writes this page.
"""

_SECTIONS: tuple[tuple[str, type[BaseModel], type[BaseModel] | None], ...] = (
    ("Top of the file", JobTable, None),
    ("`[job]`", HeadTable, None),
    ("A shape", Shape, None),
    ("`[[piece]]`", PieceTable, Shape),
    ("`in_size` of a piece", InSizeTable, Shape),
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
    ("`picture` of a hide or a print", PictureTable, None),
    ("`[[cut]]`", CutTable, None),
    ("`matches` of a cut", MatchTable, None),
    ("`[[held]]`", HeldTable, None),
    ("`[[notion]]`", NotionTable, None),
    ("`[[bag]]`", BagTable, None),
    ("`[table]`", TableTable, None),
    ("An included file", IncludeTable, None),
)

_BASES = {
    Shape: "It also has the keys of [a shape](#a-shape), which say what it looks like.",
    GoodsTable: "It also has the keys of [any material](#any-material).",
}


def format_page() -> str:
    """Return the page, in Markdown."""
    parts = [_HEAD.format(whole=WHOLE)]
    parts += ["\n".join(_section(*section)) + "\n" for section in _SECTIONS]
    return "\n".join(parts)


def _section(title: str, model: type[BaseModel], base: type[BaseModel] | None) -> Iterator[str]:
    schema = model.model_json_schema(by_alias=True)
    example = EXAMPLES[title]
    yield f"## {title}"
    yield ""
    yield example.says
    yield ""
    yield "```toml"
    yield example.text.rstrip("\n")
    yield "```"
    yield ""
    if title in OF_SECTION:
        name = OF_SECTION[title]
        shows = re.search(r"<title>(.*?)</title>", SKETCHES[name]())
        yield f"![Sketch: {shows[1] if shows else name}](sketches/{name}.svg)"
    else:
        yield "```text"
        yield example.drawn.rstrip("\n")
        yield "```"
    yield ""
    if base is not None:
        yield _BASES[base]
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
    if "$ref" in value or "allOf" in value:  # older versions of pydantic wrap a section
        return "a section"
    if "anyOf" in value:
        kinds = (_kind(v, schema) for v in value["anyOf"] if v.get("type") != "null")
        return " or ".join(dict.fromkeys(kinds))
    if "enum" in value:
        return ", ".join(f'"{word}"' for word in value["enum"])
    if value.get("type") == "array":
        inner = _kind(value.get("items", {}), schema)
        if inner == "a section":
            return "sections"
        return "list of points" if inner.startswith("[") else f"{inner}, or a list"
    if value.get("type") == "object":
        values = value.get("additionalProperties")
        return f"names and {_kind(values, schema)}" if isinstance(values, dict) else "a section"
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
