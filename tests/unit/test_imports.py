"""The import directions of the house, and where heavy libraries may be used."""

from __future__ import annotations

import ast
import tomllib
from functools import cache
from graphlib import TopologicalSorter
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[2]
BASE = {
    *("errors", "limits", "bounded", "units", "quantity", "amounts", "names", "stored"),
    *("tolerance", "leftover", "whole", "shown", "program"),
}
MAY_IMPORT = {
    "limits": set(),
    "errors": {"limits"},
    "bounded": {"errors", "limits"},
    "tolerance": set(),
    "units": {"errors", "limits", "tolerance"},
    "stored": set(),
    "quantity": {"stored"},
    "amounts": {"quantity", "units"},
    "names": set(),
    "program": set(),
    "shown": set(),
    "leftover": {"errors"},
    "whole": {"errors", "leftover"},
    "pattern": BASE,
    "material": BASE | {"pattern"},
    "job": BASE | {"pattern", "material"},
    "marker": BASE | {"pattern", "material"},
    "search": BASE | {"pattern", "material", "marker"},
    "planning": BASE | {"pattern", "material", "job", "marker", "search"},
    "advice": BASE | {"pattern", "material", "job", "marker", "search", "planning"},
    "reading": BASE | {"pattern", "material", "job"},
    "guide": BASE
    | {"pattern", "material", "job", "marker", "search", "planning", "advice"}
    | {"reading", "writing"},
    "writing": BASE | {"pattern", "material", "job", "marker", "search", "planning", "advice"},
}
HEAVY = {
    "cv2": ("nesting/reading/pictures/",),
    "PIL": (
        "nesting/reading/pictures/",
        "nesting/writing/neutral/shown",
    ),
    "numba": ("nesting/search/kernels/",),
    "ortools": ("nesting/search/", "nesting/planning/", "nesting/writing/machines/sequence"),
    "highspy": ("nesting/search/",),
    "ezdxf": ("nesting/reading/", "nesting/writing/"),
    "matplotlib": ("nesting/writing/",),
    "jinja2": ("nesting/writing/pages/",),
    "markupsafe": ("nesting/writing/pages/",),
    "starlette": ("cli/page/",),
    "uvicorn": ("cli/page/",),
}


def modules() -> list[Path]:
    return sorted(path for folder in ("nesting", "cli") for path in (ROOT / folder).rglob("*.py"))


@cache  # each is asked about once for every library
def imported(path: Path) -> frozenset[str]:
    names: set[str] = set()
    for node in ast.walk(ast.parse(path.read_text())):
        if isinstance(node, ast.Import):
            names.update(alias.name for alias in node.names)
        elif isinstance(node, ast.ImportFrom) and node.level == 0 and node.module:
            names.add(node.module)
            names.update(f"{node.module}.{alias.name}" for alias in node.names)
    return frozenset(names)


@pytest.mark.parametrize("path", modules(), ids=lambda p: str(p.relative_to(ROOT)))
def test_a_module_imports_downwards_only(path: Path) -> None:
    inside = path.relative_to(ROOT).parts
    if inside[0] == "cli":
        rooms = {n.split(".")[1] for n in imported(path) if n.startswith("nesting.")}
        assert rooms.isdisjoint({"pattern", "material", "marker", "guide"})  # plans are asked
        return
    room = inside[1].removesuffix(".py")
    if room == "__init__":
        return  # the composition root
    rooms = {n.split(".")[1] for n in imported(path) if n.startswith("nesting.")}
    assert rooms <= MAY_IMPORT[room] | {room}


def test_the_judge_knows_nothing_of_the_search() -> None:
    judge = list((ROOT / "nesting/marker").glob("*.py"))
    assert len(judge) > 5
    for path in judge:
        assert not any("search" in name for name in imported(path)), path


@pytest.mark.parametrize("library", sorted(HEAVY))
def test_a_heavy_library_stays_in_its_room(library: str) -> None:
    users = [p for p in modules() if any(n.split(".")[0] == library for n in imported(p))]
    assert users, f"{library} is not used at all"
    for path in users:
        name = path.relative_to(ROOT).as_posix()
        assert name.startswith(HEAVY[library]), f"{name} uses {library}"


def test_no_modules_import_each_other_in_a_circle() -> None:
    """Not even for their types only: what needs each other is one thing, or three."""
    names = {".".join(path.relative_to(ROOT).with_suffix("").parts): path for path in modules()}
    graph = {name: imported(path) & set(names) - {name} for name, path in names.items()}
    assert len(list(TopologicalSorter(graph).static_order())) == len(names)


def test_every_folder_of_ours_is_in_the_package() -> None:
    setup = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))["tool"]
    ours = {".".join(path.parent.relative_to(ROOT).parts) for path in modules()}
    named = {name.replace("thriftlay", "cli", 1) for name in setup["setuptools"]["packages"]}
    assert named == ours | {"cli.sample_markers"}
