"""What a drawing says is cut becomes lines of a cutting list."""

from __future__ import annotations

import pytest

from nesting.pattern.piece import Piece
from nesting.pattern.shapes import rectangle
from nesting.reading.pattern_file import Found
from nesting.reading.wanted import Wanted, wanted
from nesting.reading.words import said_by

FRONT = Piece(name="front", cut=rectangle(100, 80))


def pair(material: str, copies: int = 1) -> Wanted:
    return Wanted(copies=copies, material=material, pairs=True)


@pytest.mark.parametrize(
    ("right", "left", "material", "lines"),
    [
        (None, None, "", ()),
        (None, None, "canvas", ()),
        (2, 0, "", (Wanted(copies=2),)),
        (2, 0, "canvas", (Wanted(copies=2, material="canvas"),)),
        (1, 1, "canvas", (pair("canvas"),)),
        (0, 2, "lining", (Wanted(copies=2, material="lining", reversed=True),)),
        (2, 1, "felt", (pair("felt"), Wanted(copies=1, material="felt"))),
        (
            *(2, 0, "2 outer, 2 lining"),
            (Wanted(copies=2, material="outer"), Wanted(copies=2, material="lining")),
        ),
        (
            *(None, None, "1 outer, 2 lining"),
            (Wanted(copies=1, material="outer"), Wanted(copies=2, material="lining")),
        ),
        (1, 1, "2 outer, 4 lining", (pair("outer"), pair("lining", 2))),
    ],
)
def test_so_many_of_each(
    right: int | None, left: int | None, material: str, lines: tuple[Wanted, ...]
) -> None:
    assert wanted(Found(piece=FRONT, right=right, left=left, material=material)) == lines


@pytest.mark.parametrize(
    ("text", "lines"),
    [
        ("cut 2 outer, 2 lining", [("outer", 2, False), ("lining", 2, False)]),
        ("Front, cut 1 of canvas", [("canvas", 1, False)]),
        ("cut 2 outer mirrored", [("outer", 1, True)]),
        ("cut one pair of leather", [("leather", 1, True)]),
    ],
)
def test_in_the_words_of_a_drawing(text: str, lines: list[tuple[str, int, bool]]) -> None:
    said = said_by(text)
    assert said is not None
    right, _, left = said.quantity.partition(",")
    found = Found(piece=FRONT, right=int(right or 0), left=int(left or 0), material=said.material)
    assert [(line.material, line.copies, line.pairs) for line in wanted(found)] == lines
