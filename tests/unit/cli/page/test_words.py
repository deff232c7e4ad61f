"""Every text of the page stands in one file, so that it can be translated."""

from __future__ import annotations

import re
from pathlib import Path

import pytest
from thriftlay.page.app import STATIC

_COMMENT = re.compile(r"/\*.*?\*/|(?<![:\"'])//[^\n]*", re.DOTALL)
_SPOKEN = re.compile(
    r"""(?:\b(?:button|say|new\ Error)\(\s*          # what is pressed, heard, complained of
        |(?:"aria-label"|alt|title|placeholder):\s*  # names
        |textContent\ =\s*)
        ["`](?P<text>[^"`$]*[A-Za-z][^"`$]*)""",
    re.VERBOSE,
)
_SENTENCE = re.compile(r"""["`>](?P<text>[A-Z][a-z]+[,:]? [a-z]+[^"`]*)""")


def texts(module: str) -> list[str]:
    """Return the texts for people in a module of the page."""
    code = _COMMENT.sub("", module)
    return [m["text"] for pattern in (_SPOKEN, _SENTENCE) for m in pattern.finditer(code)]


@pytest.mark.parametrize("path", sorted(STATIC.glob("*.js")), ids=lambda path: path.name)
def test_texts_stand_in_one_file(path: Path) -> None:
    found = texts(path.read_text(encoding="utf-8"))
    assert bool(found) == (path.name == "words.js"), found


def test_the_first_page_has_no_text_but_the_programs_name() -> None:
    page = (STATIC / "index.html").read_text(encoding="utf-8")
    said = [text.strip() for text in re.findall(r">([^<]+)<", page) if text.strip()]
    assert said == ["Thriftlay"]


@pytest.mark.parametrize(
    "line",
    [
        'button("Go", act)',
        'el("p", {}, "Not yet laid")',
        'el("img", { alt: "a cloth" })',
        'el("svg", { "aria-label": `piece` })',
        'fill(x, el("p", {}, `Lay it ${n} times`))',
    ],
)
def test_a_text_elsewhere_is_found(line: str) -> None:
    assert texts(f"/** Drawn anew. */\n{line}; // Said to nobody\n")
