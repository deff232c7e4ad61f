"""What the docstrings of the public names show is what comes out."""

from __future__ import annotations

import doctest
import inspect
import typing
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

import nesting

AS_SHOWN = doctest.ELLIPSIS | doctest.NORMALIZE_WHITESPACE
NAMES = [name for name in nesting.__all__ if name != "__version__"]
FAR = {"cluster"}
"""Its example needs machines that aren't here; it has tests of its own."""


def run(text: str, name: str, known: dict[str, Any]) -> None:
    """Run the examples of a docstring; what they define is known afterwards."""
    examples = doctest.DocTestParser().get_doctest(text, known, name, None, 0)
    examples.globs = known  # not a copy
    told: list[str] = []
    result = doctest.DocTestRunner(optionflags=AS_SHOWN).run(
        examples, out=told.append, clear_globs=False
    )
    assert not result.failed, "".join(told)
    assert result.attempted, f"{name} has no example"


@pytest.fixture(scope="module")
def page(tmp_path_factory: pytest.TempPathFactory) -> dict[str, Any]:
    """Return what the page of examples defines, once it has run."""
    known: dict[str, Any] = {}
    with pytest.MonkeyPatch.context() as patch:
        patch.chdir(tmp_path_factory.mktemp("page"))
        run(nesting.__doc__ or "", "nesting", known)
        assert Path("laid/report.html").exists()
    return known


def test_a_job_is_built_laid_checked_looked_at_and_written(page: dict[str, Any]) -> None:
    assert page["plan"].job is page["job"]


@pytest.mark.parametrize("name", [n for n in NAMES if n not in FAR])
def test_every_public_name_has_an_example_that_works(
    name: str, page: dict[str, Any], tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(tmp_path)
    public = {other: getattr(nesting, other) for other in NAMES}
    run(inspect.getdoc(getattr(nesting, name)) or "", name, {**public, **page})


def parameters_of(function: Any) -> Iterator[str]:
    """Yield the names of a function's parameters, each of those that it passes on."""
    hints = typing.get_type_hints(function)
    for name, parameter in inspect.signature(function).parameters.items():
        if parameter.kind is inspect.Parameter.VAR_KEYWORD:
            (passed,) = typing.get_args(hints[name])
            yield from typing.get_type_hints(passed)
        else:
            yield name


def test_what_is_passed_on_counts_as_parameters() -> None:
    assert {"rounds", "seed", "store", "stop"} < set(parameters_of(nesting.make_plan))


@pytest.mark.parametrize("name", [n for n in NAMES if inspect.isfunction(getattr(nesting, n))])
def test_every_parameter_of_a_function_is_described(name: str) -> None:
    function = inspect.unwrap(getattr(nesting, name))
    said = inspect.getdoc(function) or ""
    heads = {word.strip() for word in said.split("\n") if word and not word.startswith(" ")}
    parameters = said.partition("Parameters\n---")[2].partition("\n\nReturns\n---")[0]
    described = {n for line in parameters.split("\n") for n in line.split(", ")}
    assert set(parameters_of(function)) - described == set()
    assert "Examples" in heads
    if typing.get_type_hints(function).get("return") is not type(None):
        assert {"Returns", "Yields"} & heads
