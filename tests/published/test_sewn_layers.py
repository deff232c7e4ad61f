"""The layer plan of sewn-product DXF against what public notes quote of it.

Source: the table of layers in the withdrawn ASTM D6673-10, section 4.3 (boundary 1, turn
points 2, curve points 3, slit and V notches 4, grade reference 5, mirror line 6, grain 7,
internal lines 8, stripe 9, plaid 10, internal cut-outs 11, drill holes 13, sew lines 14,
annotation 15; T, castle, check and U notches 80 to 83; quality validation curves 84 to 87),
as quoted by two independent sets of public notes that agree; ANSI/AAMA-292 has layers 1
to 14 of it. The standard itself was not at hand: we follow the plan and claim no more.
"""

from __future__ import annotations

from collections import Counter

import ezdxf
import pytest
from ezdxf import recover
from ezdxf.lldxf.encoding import decode_dxf_unicode

from nesting.pattern import sewn_layers as plan
from nesting.pattern.path import Path
from nesting.pattern.piece import Mark, MarkKind, NotchStyle, Piece
from nesting.pattern.shapes import circle, rectangle
from nesting.pattern.svg_path import parse_path
from nesting.writing.handout.sewn_dxf import sewn_dxf


def line(*points: tuple[float, float]) -> Path:
    return Path.polyline(points, closed=False)


PIECE = Piece(
    name="Träger 1",
    cut=parse_path("M 0 0 L 300 0 L 300 160 A 40 40 0 0 1 260 200 L 0 200 Z")[0],
    holes=(circle(20.0, centre=(150.0, 100.0)).reversed(),),
    sew=rectangle(280.0, 180.0, radius=30.0, at=(10.0, 10.0)),
    grain=90.0,
    marks=(
        *(
            Mark(kind=MarkKind.NOTCH, at=(60.0 + 20.0 * i, 0.0), size=4.0, width=3.0, style=style)
            for i, style in enumerate(NotchStyle)
        ),
        Mark(kind=MarkKind.NOTCH, at=(0.0, 100.0), size=7.0, angle=20.0),
        Mark(kind=MarkKind.DRILL, at=(70.0, 90.0), size=3.0),
        Mark(kind=MarkKind.LINE, path=line((50.0, 50.0), (90.0, 80.0))),
        Mark(kind=MarkKind.LINE, name="stripe line", path=line((0.0, 60.0), (300.0, 60.0))),
        Mark(kind=MarkKind.LINE, name="plaid line", path=line((80.0, 0.0), (80.0, 200.0))),
        Mark(kind=MarkKind.TEXT, at=(100.0, 150.0), text="sew ½ first", size=5.0),
    ),
)


def test_the_numbers():
    numbers = {
        "boundary": (plan.BOUNDARY, 1),
        "turn points": (plan.TURN_POINTS, 2),
        "curve points": (plan.CURVE_POINTS, 3),
        "grade reference": (plan.GRADE_REFERENCE, 5),
        "mirror line": (plan.MIRROR, 6),
        "grain": (plan.GRAIN, 7),
        "internal lines": (plan.INTERNAL, 8),
        "stripe": (plan.STRIPE, 9),
        "plaid": (plan.PLAID, 10),
        "cut-outs": (plan.CUT_OUT, 11),
        "drill holes": (plan.DRILL, 13),
        "sew lines": (plan.SEW, 14),
        "annotation": (plan.ANNOTATION, 15),
        "check curves": (plan.CHECK_CURVES, (84, 85, 86, 87)),
    }
    assert {name: ours for name, (ours, _) in numbers.items()} == {
        name: theirs for name, (_, theirs) in numbers.items()
    }
    assert plan.NOTCHES == {
        4: NotchStyle.SLIT,
        80: NotchStyle.T,
        81: NotchStyle.CASTLE,
        82: NotchStyle.CHECK,
        83: NotchStyle.U,
    }


@pytest.fixture(params=[True, False], ids=["minimal", "with header"])
def written(request, tmp_path):
    path = tmp_path / "piece.dxf"
    quantities = {PIECE.name: (1, 1)}
    path.write_text(
        sewn_dxf([PIECE], style="Test bag", quantities=quantities, minimal=request.param)
    )
    return path


def test_an_independent_reader_finds_every_layer_with_its_kind_of_entity(written):
    document = ezdxf.readfile(written)
    (block,) = [b for b in document.blocks if not b.name.startswith("*")]
    assert block.name == "TR_GER_1"
    kinds = Counter((entity.dxf.layer, entity.dxftype()) for entity in block)
    # entities that each layer may hold: the same notes
    assert {key for key in kinds if key[1] != "TEXT"} == {
        ("1", "POLYLINE"),
        ("2", "POINT"),
        ("3", "POINT"),
        ("4", "POINT"),
        ("7", "LINE"),
        ("8", "LINE"),
        ("9", "LINE"),
        ("10", "LINE"),
        ("11", "POLYLINE"),
        ("13", "POINT"),
        ("14", "POLYLINE"),
        ("80", "POINT"),
        ("81", "POINT"),
        ("82", "POINT"),
        ("83", "POINT"),
    }
    assert kinds["1", "POLYLINE"] == 1
    assert kinds["4", "POINT"] == 3
    ring = next(e for e in block if (e.dxf.layer, e.dxftype()) == ("1", "POLYLINE"))
    assert ring.is_closed
    assert kinds["2", "POINT"] + kinds["3", "POINT"] == len(ring.vertices)


def test_depth_width_and_angle_of_a_notch_stand_in_z_thickness_and_50(written):
    block = ezdxf.readfile(written).blocks.get("TR_GER_1")
    points = [e for e in block if e.dxftype() == "POINT"]
    castle = next(e for e in points if e.dxf.layer == "81")
    assert (castle.dxf.location.z, castle.dxf.thickness) == (4.0, 3.0)
    turned = next(e for e in points if e.dxf.location.y == 100.0 and e.dxf.layer == "4")
    assert (turned.dxf.location.z, turned.dxf.angle) == (7.0, 20.0)
    drill = next(e for e in points if e.dxf.layer == "13")
    assert drill.dxf.location.z == 3.0


def test_text_is_7_bit_and_in_the_forms_the_notes_give(written):
    data = written.read_bytes()
    assert data.isascii()
    document = ezdxf.readfile(written)
    said = [decode_dxf_unicode(e.dxf.text) for e in document.blocks.get("TR_GER_1").query("TEXT")]
    assert {"Piece Name: Träger 1", "Quantity: 1,1", "sew ½ first"} <= set(said)
    style = [e.dxf.text for e in document.modelspace().query("TEXT")]
    assert style == ["Style Name: Test bag", "Units: METRIC"]
    assert len(document.modelspace().query("INSERT")) == 1


def test_the_minimal_form_has_an_empty_header_and_no_tables():
    text = sewn_dxf([PIECE], minimal=True)
    assert text.startswith("0\nSECTION\n2\nHEADER\n0\nENDSEC\n0\nSECTION\n2\nTABLES\n0\nENDSEC\n")
    assert "$ACADVER" not in text
    assert "*Model_Space" not in text


def test_layer_0_is_not_used():
    lines = sewn_dxf([PIECE], minimal=True).splitlines()
    layers = {value for code, value in zip(lines[::2], lines[1::2], strict=True) if code == "8"}
    assert "0" not in layers
    assert all(layer.isdigit() for layer in layers)


def test_the_file_with_a_header_passes_an_audit(tmp_path):
    path = tmp_path / "piece.dxf"
    path.write_text(sewn_dxf([PIECE]))
    _, auditor = recover.readfile(path)
    assert not auditor.has_errors
    assert not auditor.has_fixes


def test_inches(tmp_path):
    path = tmp_path / "piece.dxf"
    path.write_text(sewn_dxf([PIECE], inches=True))
    document = ezdxf.readfile(path)
    ring = document.blocks.get("TR_GER_1").query("POLYLINE")[0]
    assert max(v.dxf.location.x for v in ring.vertices) == pytest.approx(300.0 / 25.4)
    assert "Units: ENGLISH" in [e.dxf.text for e in document.modelspace().query("TEXT")]
