"""Dashes say the same in SVG and DXF as in PDF: a dashed contour in an outline is not cut out."""

from __future__ import annotations

from itertools import pairwise

import ezdxf
import pytest

from nesting.errors import PatternError
from nesting.pattern.measure import area
from nesting.pattern.piece import MarkKind
from nesting.reading.dashes import dash_name
from nesting.reading.read import Pattern, read_pattern

LOOKS = {
    "solid": "none",
    "dashed": "6 3",
    "dotted": "0 2",
    "dash-dotted": "6,2,1,2",
}


def svg(tmp_path, inner: str, **options) -> Pattern:
    file = tmp_path / "bag.svg"
    file.write_text(
        '<svg xmlns="http://www.w3.org/2000/svg" width="400mm" height="300mm"'
        f' viewBox="0 0 400 300"><rect width="300" height="200"/>{inner}</svg>'
    )
    return read_pattern(file, **options)


def dxf(tmp_path, line_type: str, *, of_layer: bool, **options) -> Pattern:
    """Return the pattern of a file whose line types ezdxf has written."""
    document = ezdxf.new("R2010", setup=True, units=4)
    space = document.modelspace()
    space.add_lwpolyline([(0, 0), (300, 0), (300, 200), (0, 200)], close=True)
    document.layers.add("1", linetype=line_type if of_layer else "CONTINUOUS")
    space.add_lwpolyline(
        [(100, 60), (220, 60), (220, 150), (100, 150)],
        close=True,
        dxfattribs={"layer": "1"} | ({} if of_layer else {"linetype": line_type}),
    )
    document.saveas(tmp_path / "bag.dxf")
    return read_pattern(tmp_path / "bag.dxf", **options)


def cut_out(pattern: Pattern) -> bool:
    (piece,) = pattern.pieces
    assert area(piece.cut) == pytest.approx(60_000.0)
    drawn = [mark.kind for mark in piece.marks]
    assert bool(piece.holes) != (MarkKind.OUTLINE in drawn)
    return bool(piece.holes)


@pytest.mark.parametrize("look", LOOKS)
def test_in_svg_what_is_dashed_inside_an_outline_is_drawn(tmp_path, look) -> None:
    window = '<rect x="100" y="60" width="120" height="90"'
    said = f'stroke-dasharray="{LOOKS[look]}"'
    for inner in (
        f"{window} {said}/>",
        f"<g {said}>{window}/></g>",
        f'<style>.a{{stroke-dasharray:{LOOKS[look]}}}</style>{window} class="a"/>',
    ):
        assert cut_out(svg(tmp_path, inner)) == (look == "solid")


@pytest.mark.parametrize("of_layer", [True, False])
@pytest.mark.parametrize("line_type", ["CONTINUOUS", "DASHED", "DOT", "DASHDOT", "CENTER"])
def test_in_dxf_line_types_say_it(tmp_path, line_type, of_layer) -> None:
    assert cut_out(dxf(tmp_path, line_type, of_layer=of_layer)) == (line_type == "CONTINUOUS")


def test_a_role_for_dashes(tmp_path) -> None:
    seam = '<rect x="30" y="20" width="200" height="120" stroke-dasharray="4"/>'
    for pattern in (
        svg(tmp_path, seam, roles={"dashed": "hole"}),
        dxf(tmp_path, "DASHED", of_layer=True, roles={"dashed": "hole"}),
    ):
        assert cut_out(pattern)
    with pytest.raises(PatternError, match=r"nothing in it has the .*dash 'dotted'"):
        svg(tmp_path, seam, roles={"dotted": "hole"})


def test_an_odd_number_of_lengths_is_repeated() -> None:
    """SVG 2, 13.5.6, and ISO 32000-1, 8.4.3.6: one length is on as long as off."""
    assert dash_name([5.0], 1.0) == "dashed"
    assert dash_name([0.0, 0.0], 1.0) == ""
    assert dash_name([], 1.0) == ""


def test_dashes_that_are_lines_of_their_own_are_told_and_joined_by_close(tmp_path) -> None:
    """A rectangle of 200 by 120 mm in dashes of 6 mm, 2 mm apart."""
    corners = [(10.0, 10.0), (210.0, 10.0), (210.0, 130.0), (10.0, 130.0), (10.0, 10.0)]
    dashes = []
    for (ax, ay), (bx, by) in pairwise(corners):
        long = abs(bx - ax) + abs(by - ay)
        ux, uy = (bx - ax) / long, (by - ay) / long
        for k in range(int(long / 8.0)):
            s, e = 8.0 * k, 8.0 * k + 6.0
            dashes.append(f"M{ax + s * ux} {ay + s * uy}L{ax + e * ux} {ay + e * uy}")
    file = tmp_path / "dashes.svg"
    file.write_text(
        '<svg xmlns="http://www.w3.org/2000/svg" width="400mm" height="300mm"'
        ' viewBox="0 0 400 300">' + "".join(f'<path d="{d}"/>' for d in dashes) + "</svg>"
    )
    with pytest.raises(PatternError, match="80 lines stand one after another, 2 mm apart") as no:
        read_pattern(file)
    assert "--close" in str(no.value.hint)
    pattern = read_pattern(file, close=3.0)
    (piece,) = pattern.pieces
    assert area(piece.cut) == pytest.approx(24_000.0)
    (gaps,) = [finding.text for finding in pattern.findings if finding.kind == "gap"]
    assert gaps == "80 gaps of up to 2 mm in outlines are closed"
