"""The same drawing gives the same DXF, whatever order Python gives to its sets; polylines."""

from __future__ import annotations

import math

import ezdxf
import pytest
from ezdxf.entities.lwpolyline import LWPolylinePoints

from nesting.pattern.path import Arc, Line, Path
from nesting.writing.dxf import add_path, dxf_document, dxf_text
from nesting.writing.neutral.drawing import Drawing

EMPTY = Drawing(name="empty", length=1.0, width=1.0)


def test_classes_are_named_in_one_order() -> None:
    """Those that the library takes from a set come in another order in another process."""
    one, other = dxf_document(EMPTY), dxf_document(EMPTY)
    for name in ("LAYOUT", "ACDBPLACEHOLDER"):
        one.classes.add_class(name)
    for name in ("ACDBPLACEHOLDER", "LAYOUT"):
        other.classes.add_class(name)
    assert dxf_text(one) == dxf_text(other)


def test_a_polyline_gets_its_corners_at_once(monkeypatch: pytest.MonkeyPatch) -> None:
    """Each that is added alone copies those before it: seconds for 20 outlines of 10,000."""
    monkeypatch.delattr(LWPolylinePoints, "append")
    path = Path.polyline([(0.0, 0.0), (90.0, 1.0), (80.0, 70.0)], closed=True)
    space = ezdxf.new().modelspace()
    add_path(space, path, layer="0")
    add_path(space, path, layer="0", chord=0.1)
    lines = space.query("LWPOLYLINE")
    assert len(lines) == 2
    for line in lines:
        assert line.closed
        assert line.get_points("xyb") == [(x, y, 0.0) for x, y in path.points(0.1)]


def test_corners_are_written_as_one_text(monkeypatch: pytest.MonkeyPatch) -> None:
    """As tags of ezdxf's, made one by one, they took a quarter of the time of a large file."""
    document = ezdxf.new("R2010")
    wave = Path.polyline([(i / 7.0, (i * i) % 11 - 1e-7) for i in range(500)], closed=True)
    round_ = Path((Line((0, 0), (9, 0)), Arc((4.5, 0), (4.5, 0), (0, 4.5), 0.0, math.pi)))
    for path in (wave, round_):
        add_path(document.modelspace(), path, layer="0")
    lines = list(document.modelspace())
    usual = ["".join(t.dxfstr() for t in LWPolylinePoints.dxftags(one.lwpoints)) for one in lines]
    assert " 42\n" in usual[1]
    monkeypatch.setattr(LWPolylinePoints, "dxftags", None)
    text = dxf_text(document)
    assert all(said in text for said in usual)
