"""Pieces as files: sewn-product DXF, SVG and a contact sheet."""

from __future__ import annotations

import re
from dataclasses import replace
from xml.etree import ElementTree

import pytest
from matplotlib.image import imread

from nesting.errors import WriteError
from nesting.pattern.path import Path
from nesting.pattern.piece import Mark, MarkKind, Piece
from nesting.pattern.shapes import circle, rectangle
from nesting.writing.pieces_picture import pieces_picture, write_pieces_picture
from nesting.writing.pieces_svg import pieces_svg, write_pieces_svg
from nesting.writing.sewn_dxf import sewn_dxf, write_sewn_dxf

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


@pytest.mark.parametrize("write", [write_sewn_dxf, write_pieces_svg, write_pieces_picture])
def test_files_are_written_whole_and_replaced_only_when_asked(write, tmp_path):
    path = tmp_path / "out.bin"
    write([PANEL], path)
    first = path.read_bytes()
    with pytest.raises(WriteError, match="exists already"):
        write([PANEL, PANEL], path)
    assert path.read_bytes() == first
    write([PANEL, PANEL], path, overwrite=True)
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


def test_the_picture_shows_every_piece(tmp_path):
    figure = pieces_picture([PANEL] * 5, captions={PANEL.name: "1 right, 1 left"})
    titles = [ax.get_title() for ax in figure.axes if ax.patches]
    assert len(titles) == 5
    assert "300 × 200 mm" in titles[0]
    assert "1 right, 1 left" in titles[0]
    write_pieces_picture([PANEL] * 5, tmp_path / "sheet.png")
    pixels = imread(tmp_path / "sheet.png")
    assert pixels[..., :3].min() < 0.3
    assert pixels.shape[0] > 300


def test_no_chord_no_file():
    with pytest.raises(WriteError, match="more than 0"):
        sewn_dxf([PANEL], chord=0.0)
