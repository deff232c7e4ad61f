"""What the docstrings of the public names show is what comes out."""

from __future__ import annotations

import doctest
from pathlib import Path
from typing import Any

import pytest

import nesting

AS_SHOWN = doctest.ELLIPSIS | doctest.NORMALIZE_WHITESPACE


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
