"""Pieces as files: a contact sheet, and the pattern files that others are read with."""

from __future__ import annotations

import math
import random
import re
from dataclasses import replace
from xml.etree import ElementTree

import pytest
from matplotlib.image import imread
from matplotlib.patches import FancyArrowPatch, PathPatch

from nesting.amounts import Amounts
from nesting.errors import WriteError
from nesting.pattern.path import Affine, Path
from nesting.pattern.piece import Mark, MarkKind, Piece
from nesting.pattern.shapes import circle, rectangle
from nesting.pattern.variants.transform import transformed
from nesting.writing.handout.pieces_svg import pieces_svg
from nesting.writing.handout.sewn_dxf import sewn_dxf
from nesting.writing.pages.contact_sheet import CAPTION, RULER, sheet
from nesting.writing.pages.pieces_picture import pieces_picture, write_pieces_picture

PANEL = Piece(
    name="Front <1> & $x$",
    cut=rectangle(300.0, 200.0),
    holes=(circle(20.0, centre=(60.0, 60.0)).reversed(),),
    sew=rectangle(280.0, 180.0, at=(10.0, 10.0)),
    fold=((150.0, 0.0), (150.0, 200.0)),
    marks=(
        Mark(kind=MarkKind.NOTCH, name='"top"', at=(150.0, 200.0)),
        Mark(kind=MarkKind.DRILL, name="rivet", at=(30.0, 30.0), size=4.0),
        Mark(kind=MarkKind.OUTLINE, path=circle(30.0, centre=(200.0, 100.0))),
        Mark(kind=MarkKind.LINE, path=Path.polyline([(20, 20), (80, 20), (90, 60)], closed=False)),
        Mark(kind=MarkKind.TEXT, at=(100.0, 50.0), text="cut <2>", size=7.0, angle=30.0),
    ),
)


def test_the_picture_is_written_whole_and_replaced_only_when_asked(tmp_path):
    path = tmp_path / "out.bin"
    write_pieces_picture([PANEL], path)
    first = path.read_bytes()
    with pytest.raises(WriteError, match="exists already"):
        write_pieces_picture([PANEL, PANEL], path)
    assert path.read_bytes() == first
    write_pieces_picture([PANEL, PANEL], path, overwrite=True)
    assert path.read_bytes() != first
    assert [p.name for p in tmp_path.iterdir()] == ["out.bin"]


@pytest.mark.parametrize("make", [sewn_dxf, pieces_svg])
def test_the_same_pieces_give_the_same_file(make):
    assert make([PANEL]) == make([PANEL])


def block_names(text: str) -> list[str]:
    return re.findall(r"\nBLOCK\n8\n1\n2\n(.*)\n", text)


def test_block_names_are_allowed_and_different():
    names = ["Rücken", "rücken", "a" * 50, "A" * 40, "½", "front/left", "0\nSECTION"]
    written = block_names(sewn_dxf([replace(PANEL, name=name) for name in names]))
    assert len(set(written)) == len(names)
    assert all(re.fullmatch(r"[A-Z0-9$_-]{1,31}", name) for name in written)


def test_a_name_can_not_start_a_new_line_of_the_file():
    text = sewn_dxf([replace(PANEL, name="x\n0\nEOF\n%%d ^J")], style="s\n0\nEOF")
    assert text.count("\nEOF\n") == 1
    assert "Piece Name: x 0 EOF %d ^ J" in text


def test_the_svg_is_well_formed_true_to_scale_and_classed():
    root = ElementTree.fromstring(pieces_svg([PANEL, PANEL], quantities={PANEL.name: (1, 1)}))
    width, height = (float(root.get(k).removesuffix("mm")) for k in ("width", "height"))
    assert root.get("viewBox") == f"0 0 {width:g} {height:g}"
    groups = [child for child in root if child.tag.endswith("}g")]
    assert len(groups) == 2
    assert groups[0][0].text == PANEL.name
    classes = [child.get("class") for child in groups[0][1:]]
    assert classes == [
        *("cut", "hole", "sew", "grain", "fold", "notch slit", "drill", "mark"),
        "mark",
        "text",
        "text",
    ]


def texts(figure) -> list[str]:
    return [text.get_text() for text in figure.axes[0].texts]


def areas(figure) -> list[PathPatch]:
    return [patch for patch in figure.axes[0].patches if isinstance(patch, PathPatch)]


def arrows(figure) -> list[FancyArrowPatch]:
    return [patch for patch in figure.axes[0].patches if isinstance(patch, FancyArrowPatch)]


def test_the_picture_shows_every_piece(tmp_path):
    figure = pieces_picture([PANEL] * 5, captions={PANEL.name: "1 right, 1 left"})
    captions = [text for text in texts(figure) if "Front" in text]
    assert len(captions) == len(areas(figure)) == 5
    assert "30 × 20 cm" in captions[0]
    assert "1 right, 1 left" in captions[0]
    write_pieces_picture([PANEL] * 5, tmp_path / "sheet.png")
    pixels = imread(tmp_path / "sheet.png")
    assert pixels[..., :3].min() < 0.3
    assert pixels.shape[0] > 300


@pytest.mark.parametrize(("unit", "size", "last"), [("mm", "30 × 20 cm", 30), ("in", "11 3/4", 11)])
def test_rulers_count_from_the_corner_of_the_piece(unit, size, last):
    """Wherever it is drawn: that is where its marks are measured from."""
    moved = transformed(PANEL, Affine.move(-700.0, 900.0))
    figure = pieces_picture([moved], amounts=Amounts(unit))
    assert any(size in text for text in texts(figure))
    x0, y0, x1, _ = areas(figure)[0].get_path().get_extents().extents
    at = {
        float(t.get_text()): t.get_position() for t in figure.axes[0].texts if _ruler(t, below=y0)
    }
    per_unit = (x1 - x0) / (300.0 / (25.4 if unit == "in" else 10.0))
    assert max(at) == last
    for number, (x, _) in at.items():
        assert x == pytest.approx(x0 + number * per_unit)


def _ruler(text, *, below: float) -> bool:
    return text.get_text().isdigit() and text.get_position()[1] < below


@pytest.mark.parametrize("size", [(300.0, 200.0), (30.0, 24.0), (6.0, 400.0)])
@pytest.mark.parametrize("turn", [0.0, 90.0, 180.0, 200.0])
def test_an_arrow_stays_within_its_piece_and_has_one_head_if_up_is_known(size, turn):
    piece = Piece(name="tab", cut=rectangle(*size), grain=turn)
    large = Piece(name="gusset", cut=rectangle(900.0, 150.0), up_known=False)
    figure = pieces_picture([large, piece])
    assert "up not known" in "".join(t for t in texts(figure) if "gusset" in t)
    drawn = {arrow.get_arrowstyle().__class__.__name__ for arrow in arrows(figure)}
    (area,) = [a for a in areas(figure) if a.get_path().get_extents().width < 8]
    box = area.get_path().get_extents()
    inner = [a for a in arrows(figure) if box.contains(*a._posA_posB[0])]
    for arrow in inner:
        start, end = arrow._posA_posB
        assert box.contains(*start)
        assert box.contains(*end)
        way = math.degrees(math.atan2(end[1] - start[1], end[0] - start[0]))
        assert (way - turn + 180.0) % 360.0 == pytest.approx(180.0)
    assert len(drawn) == 1 + bool(inner)


def test_little_of_the_sheet_is_white():
    """A third of the paper is pieces, with sizes as a bag has them."""
    sizes = [(420, 310), (420, 310), (900, 110), (200, 160), (400, 220), (300, 200), (250, 120)]
    paper = sheet([(float(w), float(h)) for w, h in sizes])
    drawn = sum(w * h for w, h in sizes) * paper.scale**2
    assert drawn > 0.33 * paper.width * paper.height


@pytest.mark.parametrize("seed", range(20))
def test_pieces_stand_apart_on_the_sheet(seed):
    rng = random.Random(seed)
    sizes = [(rng.uniform(5, 900), rng.uniform(5, 600)) for _ in range(rng.randint(1, 60))]
    paper = sheet(sizes)
    boxes = [
        (c.x - RULER, c.y - RULER - CAPTION, c.x + w * paper.scale, c.y + h * paper.scale)
        for c, (w, h) in zip(paper.cells, sizes, strict=True)
    ]
    for i, (x0, y0, x1, y1) in enumerate(boxes):
        assert min(x0, y0) >= 0.0
        assert x1 <= paper.width + 1e-9
        assert y1 <= paper.height + 1e-9
        for u0, v0, u1, v1 in boxes[:i]:
            assert x1 <= u0 or u1 <= x0 or y1 <= v0 or v1 <= y0


def test_no_piece_no_failure():
    assert pieces_picture([]).axes


def test_an_outline_that_crosses_itself_is_drawn_all_the_same():
    ring = Path.polyline([(0, 0), (100, 100), (100, 0), (0, 100), (50, 20)], closed=True)
    figure = pieces_picture([Piece(name="crossed", cut=ring)])
    assert any(isinstance(patch, PathPatch) for patch in figure.axes[0].patches)
