"""What the page on drawing says is what the readers do."""

from __future__ import annotations

import re

import pytest

from nesting.pattern.piece import MarkKind
from nesting.reading.drawing_words import EXAMPLE, drawing_page
from nesting.reading.dxf.sewn import ROLES
from nesting.reading.items import WORDS, Role, role_of
from nesting.reading.read import read_pattern


def test_the_example_is_read_as_drawn(saved):
    pattern = read_pattern(saved(EXAMPLE, "example.svg"))
    (found,) = pattern.found
    piece = found.piece
    assert (piece.name, found.extent) == ("Front", pytest.approx((220.0, 160.0)))
    assert (piece.grain, found.up_known, found.right, found.left) == (90.0, True, 1, 1)
    assert piece.sew is not None
    kinds = sorted(mark.kind for mark in piece.marks)
    assert kinds == [MarkKind.DRILL, MarkKind.LINE, MarkKind.NOTCH]
    assert [f.kind for f in pattern.findings] == ["check"]


NAMED = re.findall(r"^\| [^|]+ \| (`[a-z`, ]+`) \|$", drawing_page(), re.MULTILINE)


def test_every_role_has_its_words():
    assert len(NAMED) == len(WORDS)


@pytest.mark.parametrize(("names", "role"), list(zip(NAMED, WORDS, strict=True)))
def test_every_word_of_the_page_is_understood(names, role):
    for word in re.findall(r"`(\w+)`", names):
        for way in (word, word.upper(), f"{word}s", f"{word} 2", f"{word}_{word}"[: len(word) + 1]):
            assert role_of(way) is role, way


@pytest.mark.parametrize("role", [r for r in WORDS if r not in (Role.REFERENCE, Role.TEXT)])
@pytest.mark.parametrize("kind", ["svg", "dxf"])
def test_a_layer_of_that_name_is_taken_for_it(dxf, saved, role, kind):
    """A rectangle in a rectangle: only `cut` is a piece; `hole` a cut-out, `sew` a sewing line."""
    layer = WORDS[role].split("|")[0]
    inner = [(45, 45), (355, 45), (355, 255), (45, 255)]
    if kind == "dxf":
        content = [dxf.poly("front", dxf.SQUARE), dxf.poly(layer, inner)]
        pattern = read_pattern(saved(dxf.file({}, content, units=None)), unit="mm")
    else:
        points = " ".join(f"{x},{y}" for x, y in inner)
        text = (
            '<svg xmlns="http://www.w3.org/2000/svg"><rect width="400" height="300" id="front"/>'
            f'<g id="{layer}"><polygon points="{points}"/></g></svg>'
        )
        pattern = read_pattern(saved(text, "p.svg"), unit="mm")
    piece = pattern.pieces[0]
    told = (len(piece.holes), piece.sew is not None, len(piece.marks))
    expected = {Role.HOLE: (1, False, 0), Role.SEW: (0, True, 0), Role.CUT: (1, False, 0)}
    drawn = role in (Role.LINE, Role.STRIPE, Role.PLAID, Role.DRILL)
    if role in expected:
        assert told == expected[role]
    elif role is not Role.NOTCH:
        assert told == (0, False, int(drawn))


def test_the_layer_plan_is_all_there():
    for number in ROLES:
        assert re.search(rf"^\|.*\b{number}\b.*\|", drawing_page(), re.MULTILINE), number
