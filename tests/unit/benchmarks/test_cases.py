"""Cases in the plain form and in the data sets' XML, in the variations that files come in.

The files are our own, written to the published form from memory (ESICUP, namespace
http://globalnest.fe.up.pt/nesting); none is a published case.
"""

from __future__ import annotations

import json
import math
import re
from pathlib import Path
from typing import Any

import pytest

from benchmarks.search import rectangles, strip
from benchmarks.search.cases import read_case
from nesting.errors import JobError
from nesting.marker.lay import Lay, Strip, Turns

Points = list[tuple[float, float]]
ANGLE: Points = [(0, 0), (4, 0), (4, 1), (1, 1), (1, 3), (0, 3)]  # area 6
BOARD: Points = [(0, 0), (0, 10), (50, 10), (50, 0)]
FRAME: Points = [(0, 0), (6, 0), (6, 6), (0, 6)]
WINDOW: Points = [(0, 0), (2, 0), (2, 2), (0, 2)]


def segments(points: Points, *, first: int = 0) -> list[str]:
    ends = [*points[1:], points[0]]
    return [
        f'<segment n="{n}" x0="{a[0]}" x1="{b[0]}" y0="{a[1]}" y1="{b[1]}"/>'
        for n, (a, b) in enumerate(zip(points, ends, strict=True), first)
    ]


def polygon(name: str, lines: list[str]) -> str:
    return (
        f'<polygon id="{name}" nVertices="{len(lines)}"><lines>{"".join(lines)}</lines>'
        "<xMin>0</xMin><xMax>9</xMax><yMin>0</yMin><yMax>10</yMax><perimeter>1</perimeter></polygon>"
    )


TURNS = '<orientation><enumeration angle="0"/><enumeration angle="180"/></orientation>'


def document(
    *,
    turns: str = TURNS,
    quantity: str = 'quantity="3"',
    parts: str = '<component idPolygon="p1" type="0" xOffset="0" yOffset="0"/>',
    board: str = '<component idPolygon="p0" type="0" xOffset="0" yOffset="0"/>',
    polygons: str | None = None,
    head: str = "",
) -> str:
    if polygons is None:
        polygons = polygon("p0", segments(BOARD)) + polygon("p1", segments(ANGLE))
    return (
        f'<?xml version="1.0" encoding="UTF-8"?>{head}'
        '<nesting xmlns="http://globalnest.fe.up.pt/nesting"><name>OURS</name>'
        "<verticesOrientation>clockwise</verticesOrientation>"
        f'<problem><boards><piece id="b" quantity="1">{board}</piece></boards>'
        f'<lot><piece id="angle" {quantity}>{turns}{parts}</piece></lot></problem>'
        f'<polygons nVertices="0">{polygons}</polygons>'
        '<nfps><nfp><staticPolygon idPolygon="p1" angle="0"/><orbitingPolygon idPolygon="p1" '
        'angle="0"/><resultingPolygon idPolygon="n1"/></nfp></nfps></nesting>'
    )


def read(folder: Path, text: str | bytes, name: str = "ours.xml") -> Lay:
    file = folder / name
    file.write_bytes(text if isinstance(text, bytes) else text.encode())
    lay = read_case(file)
    assert isinstance(lay, Lay)
    return lay


def area(lay: Lay, index: int = 0) -> float:
    total = 0.0
    for path in (lay.parts[index].piece.cut, *lay.parts[index].piece.holes):
        ring = path.points(1e-3)
        ends = [*ring[1:], ring[0]]
        total += 0.5 * sum(a[0] * b[1] - b[0] * a[1] for a, b in zip(ring, ends, strict=True))
    return total


def test_the_published_form(tmp_path: Path) -> None:
    lay = read(tmp_path, document())
    assert lay.name == "ours"
    assert lay.stock == Strip(width=10.0)
    assert [part.name for part in lay.parts] == ["angle 1", "angle 2", "angle 3"]
    assert lay.parts[0].turns == Turns(angles=(0.0, 180.0))
    assert area(lay) == pytest.approx(6.0)


def clockwise() -> str:
    return document(polygons=polygon("p0", segments(BOARD)) + polygon("p1", segments(ANGLE[::-1])))


def shuffled() -> str:
    lines = segments(ANGLE)
    return document(
        polygons=polygon("p0", segments(BOARD))
        + polygon("p1", [lines[i] for i in (3, 0, 5, 1, 4, 2)])
    )


def without_numbers() -> str:
    """Return a file whose segments lie in any order and direction and bear no number."""
    ends = list(zip(ANGLE, [*ANGLE[1:], ANGLE[0]], strict=True))
    turned = [ends[i] if i % 2 else ends[i][::-1] for i in (3, 0, 5, 1, 4, 2)]
    lines = [f'<segment x0="{a[0]}" y0="{a[1]}" x1="{b[0]}" y1="{b[1]}"/>' for a, b in turned]
    return document(polygons=polygon("p0", segments(BOARD)) + polygon("p1", lines))


def numbered_as_strings() -> str:
    """Return a file of segments 2 to 13, which sorted as text would begin with 10."""
    ring = [(5 + 5 * math.cos(t * math.pi / 6), 5 + 5 * math.sin(t * math.pi / 6))
            for t in range(12)]  # fmt: skip
    return document(
        polygons=polygon("p0", segments(BOARD)) + polygon("p1", segments(ring, first=2)[::-1])
    )


def prefixed() -> str:
    """Return a file whose elements all bear a prefix of the namespace."""
    text = re.sub(r"<(/?)(\w)", r"<\1gn:\2", document())
    return text.replace('xmlns="', 'xmlns:gn="')


@pytest.mark.parametrize("make", [clockwise, shuffled, without_numbers, prefixed])
def test_the_same_piece_however_it_is_written(tmp_path: Path, make: Any) -> None:
    lay = read(tmp_path, make())
    assert len(lay.parts) == 3
    assert area(lay) == pytest.approx(6.0)
    assert set(lay.parts[0].piece.cut.points(1.0)) == set(ANGLE)


def test_numbers_of_segments_are_numbers(tmp_path: Path) -> None:
    lay = read(tmp_path, numbered_as_strings())
    assert area(lay) == pytest.approx(0.5 * 12 * 25 * math.sin(math.pi / 6))


def test_other_encodings(tmp_path: Path) -> None:
    text = document().replace("UTF-8", "ISO-8859-1").replace('id="angle"', 'id="Ärmel"')
    lay = read(tmp_path, text.encode("latin-1"))
    assert lay.parts[0].name == "Ärmel 1"


def test_a_hole_and_offsets(tmp_path: Path) -> None:
    """The window's polygon lies at the origin; its offset brings it into the frame."""
    parts = (
        '<component idPolygon="p1" type="0" xOffset="10" yOffset="10"/>'
        '<component idPolygon="p2" type="-1" xOffset="12" yOffset="12"/>'
    )
    polygons = "".join(
        polygon(name, segments(ring))
        for name, ring in (("p0", BOARD), ("p1", FRAME), ("p2", WINDOW))
    )
    lay = read(tmp_path, document(parts=parts, polygons=polygons))
    assert area(lay) == pytest.approx(36.0 - 4.0)
    assert len(lay.parts[0].piece.holes) == 1


def test_two_components_that_touch_are_one_piece(tmp_path: Path) -> None:
    parts = '<component idPolygon="p1" type="0"/><component idPolygon="p1" type="0" xOffset="6"/>'
    polygons = polygon("p0", segments(BOARD)) + polygon("p1", segments(FRAME))
    lay = read(tmp_path, document(parts=parts, polygons=polygons))
    assert area(lay) == pytest.approx(72.0)
    apart = document(parts=parts.replace('"6"', '"7"'), polygons=polygons)
    with pytest.raises(JobError, match="don't hang together"):
        read(tmp_path, apart)


@pytest.mark.parametrize(
    ("turns", "expected"),
    [
        ("", Turns()),
        ("<orientation/>", Turns()),
        ('<orientation><enumeration angle="90"/></orientation>', Turns(angles=(90.0,))),
        ('<orientation><range min="0" max="360"/></orientation>', Turns(slack=180.0)),
        ('<orientation><range from="-5" to="5"/></orientation>', Turns(angles=(0.0,), slack=5.0)),
        (
            '<orientation><range angleMin="350" angleMax="10"/></orientation>',
            Turns(angles=(360.0,), slack=10.0),
        ),
    ],
)
def test_turns(tmp_path: Path, turns: str, expected: Turns) -> None:
    assert read(tmp_path, document(turns=turns)).parts[0].turns == expected


@pytest.mark.parametrize(("quantity", "copies"), [("", 1), ('quantity="0"', 0)])
def test_quantities(tmp_path: Path, quantity: str, copies: int) -> None:
    assert len(read(tmp_path, document(quantity=quantity)).parts) == copies


def test_a_board_without_its_end(tmp_path: Path) -> None:
    """A strip of open length may be drawn by three sides, or by its extents only."""
    three = polygon("p0", segments(BOARD)[:3]) + polygon("p1", segments(ANGLE))
    assert read(tmp_path, document(polygons=three)).stock == Strip(width=10.0)
    none = polygon("p0", []) + polygon("p1", segments(ANGLE))
    assert read(tmp_path, document(polygons=none)).stock == Strip(width=10.0)


ARC = '<arc n="1" x0="4" y0="0" x1="4" y1="1" radius="1"/>'
BOWTIE: Points = [(0, 0), (4, 3), (4, 0), (0, 2)]


def of_part(lines: list[str]) -> str:
    return document(polygons=polygon("p0", segments(BOARD)) + polygon("p1", lines))


@pytest.mark.parametrize(
    ("text", "said"),
    [
        (document()[:200], r"ours\.xml:1: is no XML"),
        ("", "is no XML"),
        ("<other/>", "has 0 boards"),
        (document(head='<!DOCTYPE x [<!ENTITY a "b">]>'), "can't be read as a case"),
        (document(quantity='quantity="two"'), "angle: 'two' is no number"),
        (document(quantity='quantity="-1"'), "angle: '-1' is no number of copies"),
        (document(parts=""), "angle: has no component"),
        (document(parts='<component idPolygon="p9"/>'), "angle: there is no polygon 'p9'"),
        (document(board=""), "board: is made of 0 components"),
        (document(board='<component idPolygon="p1"/>'), "board: is no rectangle"),
        (document(turns="<orientation><free/></orientation>"), "its <free> of turns has no angle"),
        (of_part([ARC, *segments(ANGLE)]), "polygon p1: has an <arc>"),
        (of_part(segments(ANGLE)[:2] + segments(ANGLE)[3:5]), "polygon p1: nothing goes on from"),
        (of_part([]), "polygon p1: has fewer than two segments"),
        (of_part(segments(BOWTIE)), "angle: its outline crosses or touches itself"),
        (of_part(segments([(0, 0), (1, 0), (2, 0)])), "angle: its outline has no area"),
        (of_part(segments(ANGLE)).replace('x1="4"', 'x1="4,5"'), "'4,5' is no number"),
        (of_part(segments(ANGLE)).replace('x1="4"', 'x1="nan"'), "'nan' is no number"),
        (of_part(segments(ANGLE)).replace(' x1="4"', ""), "None is no number"),
    ],
)  # fmt: skip
def test_trouble_is_one_line(tmp_path: Path, text: str, said: str) -> None:
    with pytest.raises(JobError, match=said) as caught:
        read(tmp_path, text)
    assert str(caught.value).startswith("ours.xml")
    assert "\n" not in str(caught.value)


def plain(**changes: Any) -> dict[str, Any]:
    piece = {"name": "angle", "quantity": 2, "angles": [0, 180], "outline": ANGLE, **changes}
    return {
        "name": "ours",
        "strip_width": 10,
        "pieces": [{k: v for k, v in piece.items() if v != "-"}],
    }


@pytest.mark.parametrize(
    ("changes", "copies", "turns"),
    [
        ({}, 2, Turns(angles=(0.0, 180.0))),
        ({"angles": None}, 2, Turns(slack=180.0)),
        ({"angles": "-"}, 2, Turns()),
        ({"angles": []}, 2, Turns()),
        ({"angles": ["90", 0.5]}, 2, Turns(angles=(90.0, 0.5))),
        ({"quantity": "-"}, 1, Turns(angles=(0.0, 180.0))),
        ({"quantity": "-", "demand": 4}, 4, Turns(angles=(0.0, 180.0))),
        ({"quantity": "3"}, 3, Turns(angles=(0.0, 180.0))),
        ({"name": "-"}, 2, Turns(angles=(0.0, 180.0))),
        ({"outline": [*ANGLE, ANGLE[0]]}, 2, Turns(angles=(0.0, 180.0))),
        ({"outline": [{"x": x, "y": y} for x, y in ANGLE]}, 2, Turns(angles=(0.0, 180.0))),
        ({"outline": ANGLE[::-1]}, 2, Turns(angles=(0.0, 180.0))),
    ],
)
def test_plain_json(tmp_path: Path, changes: dict[str, Any], copies: int, turns: Turns) -> None:
    lay = read(tmp_path, json.dumps(plain(**changes)), "ours.json")
    assert len(lay.parts) == copies
    assert lay.parts[0].turns == turns
    assert area(lay) == pytest.approx(6.0)


def test_two_pieces_of_one_name(tmp_path: Path) -> None:
    data = plain()
    data["pieces"] *= 2
    lay = read(tmp_path, json.dumps(data), "ours.json")
    assert len({part.name for part in lay.parts}) == 4


@pytest.mark.parametrize(
    ("data", "said"),
    [
        ([], 'has no list "pieces"'),
        ({"pieces": []}, 'has no "strip_width"'),
        ({**plain(), "strip_width": 0}, "the strip is 0 wide"),
        (plain(quantity=1.5), r"angle\.quantity: 1\.5 is no number of copies"),
        (plain(angles=90), r"angle\.angles: is no list of degrees, nor null"),
        (plain(angles=[None]), "None is no number"),
        (plain(outline="-"), 'angle: has no "outline"'),
        (plain(outline=[[0, 0], [1]]), "angle: its outline is no list of points"),
        (plain(outline=[[0, 0], [1, 0]]), "angle: its outline has fewer than three corners"),
        ({**plain(), "pieces": [7]}, r"pieces\[1\]: is no piece"),
    ],
)
def test_trouble_in_json_is_one_line(tmp_path: Path, data: Any, said: str) -> None:
    with pytest.raises(JobError, match=said) as caught:
        read(tmp_path, json.dumps(data), "ours.json")
    assert str(caught.value).startswith("ours.json")
    assert "\n" not in str(caught.value)


def test_broken_json_and_no_file(tmp_path: Path) -> None:
    with pytest.raises(JobError, match=r"ours\.json:1: is no JSON"):
        read(tmp_path, "{", "ours.json")
    with pytest.raises(JobError, match=r"none\.json: can't be opened"):
        read_case(tmp_path / "none.json")


def test_the_command_names_what_it_cannot_read(
    monkeypatch: pytest.MonkeyPatch,
    tmp_path: Path,
    capsys: pytest.CaptureFixture[str],
) -> None:
    monkeypatch.setattr("sys.argv", ["strip.py", str(tmp_path / "none.json")])
    assert strip.main() == 2
    assert capsys.readouterr().err.splitlines() == [
        "none.json: can't be opened: No such file or directory (check the path)"
    ]


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("{", "can't be read as a case"),
        ("[]", "can't be read as a case"),
        ('{"strip_width": 9}', "can't be read as a case"),
        ('{"strip_width": 9, "rectangles": [[1]]}', "can't be read as a case"),
        ('{"strip_width": 9, "rectangles": [[1, -2]]}', "has a size that is not above 0"),
        (None, "can't be opened"),
    ],
)
def test_cases_of_rectangles(
    monkeypatch: pytest.MonkeyPatch,
    tmp_path: Path,
    capsys: pytest.CaptureFixture[str],
    text: str | None,
    said: str,
) -> None:
    file = tmp_path / "box.json"
    if text is not None:
        file.write_text(text)
    assert rectangles.main([str(file)]) == 2
    lines = capsys.readouterr().err.splitlines()
    assert len(lines) == 1
    assert lines[0].startswith(f"box.json: {said}")


def test_a_case_of_rectangles_without_an_optimum(
    monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    file = tmp_path / "box.json"
    file.write_text('{"strip_width": 9, "rectangles": [[1, 2], [3, 4]]}')
    lay, optimum = rectangles.read_case(file, turning=False)
    assert (lay.name, len(lay.parts), optimum) == ("box", 2, None)
