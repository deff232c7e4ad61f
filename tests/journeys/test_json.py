"""What every command tells machines is of the form that it states."""

from __future__ import annotations

import json
import re
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from PIL import Image
from thriftlay.commands.schema import result_schema
from thriftlay.main import main
from thriftlay.records import RESULTS

SEARCH = ["--rounds", "1", "--workers", "1"]
SHOPS = Path("sample_markers/shops")
JOB = """
[job]
name = "Pouch"
currency = "EUR"
bags = 2
[[piece]]
name = "front"
points = [[0, 0], [300, 0], [280, 200], [20, 200]]
[[piece]]
name = "strap"
strap = ["200 cm", "5 cm"]
[[cloth]]
name = "canvas"
widths = [{ booked = "112 cm", price = 15 }, { booked = "20 cm", price = 1 }]
substance = "cotton"
[[sheet]]
name = "foam"
size = ["60 cm", "50 cm"]
[[cut]]
piece = "front"
material = ["canvas", "foam"]
copies = 3
[[cut]]
piece = "strap"
material = "canvas"
pieced = "1 cm"
[[notion]]
name = "zip"
quantity = 2
"""
STOCK = '[at_hand]\nfoam = 1\ncanvas = "30 cm"\nzip = 5\n'


def complaints(value: Any, schema: dict[str, Any], defs: dict[str, Any]) -> Iterator[str]:
    """Yield what of a value a JSON Schema doesn't allow; of keywords those that are used here."""
    rules = dict(schema)
    for word in ("title", "description", "$schema", "$defs", "default"):
        rules.pop(word, None)
    if "$ref" in rules:
        yield from complaints(value, defs[rules.pop("$ref").rpartition("/")[2]], defs)
    for one in rules.pop("allOf", []):  # so pydantic 2.7 writes a type with a default
        yield from complaints(value, one, defs)
    if "const" in rules and value != rules.pop("const"):
        yield f"{value!r} is not {schema['const']!r}"
    if "enum" in rules and value not in rules.pop("enum"):
        yield f"{value!r} is none of {schema['enum']}"
    if "anyOf" in rules:
        tried = [list(complaints(value, one, defs)) for one in rules.pop("anyOf")]
        if all(tried):
            yield f"{value!r} fits none: {tried}"
    kinds = rules.pop("type", None)
    if kinds is not None:
        named = [kinds] if isinstance(kinds, str) else kinds
        if not any(_is(value, kind) for kind in named):
            yield f"{value!r} is no {kinds}"
            return
    properties, required = rules.pop("properties", {}), rules.pop("required", [])
    others = rules.pop("additionalProperties", True)
    if isinstance(value, dict):
        yield from (f"{name} is missing" for name in required if name not in value)
        for name, item in value.items():
            one = properties.get(name, others)
            if one is False:
                yield f"{name} is not stated"
            elif isinstance(one, dict):
                yield from (f"{name}: {said}" for said in complaints(item, one, defs))
    items, first = rules.pop("items", True), rules.pop("prefixItems", [])
    most, least = rules.pop("maxItems", None), rules.pop("minItems", 0)
    if isinstance(value, list):
        if len(value) < least or (most is not None and len(value) > most):
            yield f"{len(value)} items"
        for n, item in enumerate(value):
            one = first[n] if n < len(first) else items
            if isinstance(one, dict):
                yield from (f"{n}: {said}" for said in complaints(item, one, defs))
    assert not rules, f"keywords that this doesn't know: {rules}"


def _is(value: Any, kind: str) -> bool:
    if kind == "number":
        return isinstance(value, int | float) and not isinstance(value, bool)
    if kind == "integer":
        return isinstance(value, int) and not isinstance(value, bool)
    known = {"string": str, "boolean": bool, "object": dict, "array": list, "null": type(None)}
    return isinstance(value, known[kind])


def told(capsys: pytest.CaptureFixture[str], *words: str, status: int = 0) -> dict[str, Any]:
    """Run a command with --json, hold what it prints against its schema, return the result."""
    capsys.readouterr()
    assert main([*words, "--json"]) == status, capsys.readouterr().err
    record = json.loads(capsys.readouterr().out)
    schema = result_schema(words[0])
    assert list(complaints(record, schema, schema["$defs"])) == []
    assert record["currency"] in ("EUR", None)
    result: dict[str, Any] = record["result"]
    return result


def test_every_command_tells_what_its_schema_states(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    job, stock = tmp_path / "job.toml", tmp_path / "stock.toml"
    job.write_text(JOB)
    stock.write_text(STOCK)
    seen = {}
    for command in ("lay", "order"):
        words = [str(job), "--out", str(tmp_path / command), "--stock", str(stock), *SEARCH]
        found = seen[command] = told(capsys, command, *words)
        lines = {line["name"]: line for line in found["buying"]}
        assert {name: line["stock"] for name, line in lines.items()} == {
            "canvas": lines["canvas"]["stock"],
            "foam": 1.0,
            "zip": 4.0,
        }
        assert found["unpriced"] == ["foam"]
        assert (found["cost"], found["cost_per_bag"]) == (None, None)
        # A width on which it can't be laid is told with why, and one is taken.
        assert [one["chosen"] for one in found["widths"]] == [True, False]
        assert found["folder"] == str(tmp_path / command)
    plan = str(tmp_path / "lay" / "plan.json")
    seen["compare"] = told(capsys, "compare", str(job), *SEARCH, "--widths", "112 cm")
    assert seen["compare"]["trials"][0]["marker"]["figures"]["good"]
    seen["advise"] = told(capsys, "advise", str(job), *SEARCH, "--material", "foam")
    assert seen["advise"]["materials"][0]["material"] == "foam"
    assert any(change["certain"] is None for change in seen["advise"]["changes"])
    words = [str(job), "--out", str(tmp_path / "pattern"), *SEARCH, "--widths", "112 cm"]
    seen["pattern"] = told(capsys, "pattern", *words, "--paper", "a4")
    assert [row["certain"] for row in seen["pattern"]["rows"]] == [True] * 3
    seen["check"] = told(capsys, "check", plan)
    seen["write"] = told(capsys, "write", plan, "--out", str(tmp_path / "more"))
    assert len(seen["write"]["files"]) > 3
    words = [plan, "--machine", str(SHOPS / "pen_plotter.toml"), "--out", str(tmp_path / "cut")]
    seen["cut"] = told(capsys, "cut", *words, "--only", "canvas")
    for what in ("markers", "templates", "labels"):
        out = str(tmp_path / f"{what}.pdf")
        seen["print"] = told(capsys, "print", plan, "--out", out, "--what", what)
        assert seen["print"]["file"] == out
    svg = '<svg xmlns="http://www.w3.org/2000/svg" width="200mm" height="100mm" '
    svg += 'viewBox="0 0 200 100"><path id="a" d="M 5 5 H 150 V 90 H 5 Z"/></svg>'
    (tmp_path / "a.svg").write_text(svg)
    seen["pieces"] = told(capsys, "pieces", str(tmp_path / "a.svg"), "--unit", "mm")
    seen["done"] = told(capsys, "done", plan, "--stock", str(stock))
    assert seen["done"]["changes"]
    seen["hide"] = told(capsys, "hide", str(floor(tmp_path)), "--reference", FLOOR)
    assert [round(seen["hide"][side], -1) for side in ("length", "width")] == [1000, 600]
    assert seen["hide"]["uncertainty"] < 60  # corners alone don't tell what the lens does
    seen["repeat"] = told(capsys, "repeat", str(dots(tmp_path)), "--reference", "50 dpi")
    assert seen["repeat"]["along"] == pytest.approx(40.0, abs=0.2)
    assert seen["repeat"]["across"] == pytest.approx(30.0, abs=0.2)
    assert set(seen) == set(RESULTS)


FLOOR = "1600 x 1200 mm at 0,0 799,0 799,599 0,599"


def floor(folder: Path) -> Path:
    """Return a picture of a brown ellipse of 1000 by 600 mm on a grey floor, 2 mm a pixel."""
    y, x = np.mgrid[0:600, 0:800]
    brown = ((x - 400) / 250) ** 2 + ((y - 300) / 150) ** 2 < 1.0
    pixels = np.where(brown[..., None], [140, 90, 50], [190, 190, 185]).astype(np.uint8)
    Image.fromarray(pixels).save(folder / "floor.png")
    return folder / "floor.png"


def dots(folder: Path) -> Path:
    """Return a scan at 50 dpi of dots that are 40 mm apart upwards and 30 mm sideways."""
    y, x = np.mgrid[0:500, 0:600] * (25.4 / 50.0)
    dot = np.hypot((x + 15) % 30 - 15, (y + 20) % 40 - 20) < 8.0
    pixels = np.where(dot[..., None], [160, 40, 40], [235, 230, 220]).astype(np.uint8)
    Image.fromarray(pixels).save(folder / "dots.png")
    return folder / "dots.png"


def test_where_nothing_fits_it_is_told_in_the_same_form(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    job = tmp_path / "job.toml"
    job.write_text(re.sub(r"widths = .*", 'width = "15 cm"', JOB))
    found = told(capsys, "compare", str(job), *SEARCH, status=1)
    assert found["trials"][0]["why_not"]
    assert (found["area"], found["cost"]) == (None, None)


def test_the_schema_command_states_the_form_of_each(capsys: pytest.CaptureFixture[str]) -> None:
    for command in RESULTS:
        assert main(["schema", "--of", command]) == 0
        printed = capsys.readouterr().out
        assert json.loads(printed) == result_schema(command)
        assert ">>>" not in printed  # what is shown in Python
    # The form is closed: what is not stated is no part of it.
    schema = result_schema("write")
    record = {"schema": "thriftlay/write/1", "result": {"files": [], "more": 1}}
    said = list(complaints(record, schema, schema["$defs"]))
    assert "result: more is not stated" in said
    assert "units is missing" in said
