from __future__ import annotations

import re
from dataclasses import replace

import pytest
import shapely

from nesting.job.job import Bag, Cut, Job
from nesting.marker.figures import figures
from nesting.marker.lay import Binding, Lattice, Lay, Part, Strip, Turns
from nesting.marker.marker import Marker, Placement
from nesting.material.material import Cloth, Fold, Width
from nesting.pattern.path import Path
from nesting.pattern.piece import Face, Hand, Mark, MarkKind, Piece
from nesting.pattern.polygon import piece_polygon, polygon
from nesting.pattern.shapes import rectangle
from nesting.planning.plan import Plan
from nesting.writing.dxf import dxf_document
from nesting.writing.machines.formats import Format
from nesting.writing.machines.machine import RUN, Kind, Machine, Tool
from nesting.writing.machines.work import work
from nesting.writing.neutral.draw import _sound, draw, draw_entry
from nesting.writing.neutral.drawing import Drawing, Operation, Role
from nesting.writing.neutral.keys import job_keys
from nesting.writing.neutral.lettering import Lettering, text_box
from nesting.writing.neutral.naming import naming, shared_names
from nesting.writing.svg import svg

CLOTH = Cloth(name="Canvas", widths=(Width(booked=1000.0, usable=960.0),), ends=20.0)


def one(piece: Piece, *, placement: Placement | None = None, **more: object) -> Marker:
    part = Part(name=piece.name, piece=piece, **more)  # type: ignore[arg-type]
    lay = Lay(name="Canvas", parts=(part,), stock=Strip(width=960.0))
    return Marker(lay=lay, placements=(placement or Placement(part=0, x=0.0, y=0.0),))


def panel(*marks: Mark) -> Piece:
    return Piece(name="Panel", cut=rectangle(300.0, 200.0), marks=marks)


LOOP = Path.polyline([(50.0, 50.0), (50.0, 150.0)], closed=False)


def of(drawing: Drawing, operation: Operation) -> list[Path]:
    return [s.path for s in drawing.strokes if s.operation is operation]


def test_every_part_is_drawn_where_it_lies(hand_laid_marker: Marker) -> None:
    drawing = draw(hand_laid_marker)
    cuts = [s for s in drawing.strokes if s.operation is Operation.CUT and not s.inner]
    assert [s.part for s in cuts] == [p.part for p in hand_laid_marker.placements]
    for stroke, placement in zip(cuts, hand_laid_marker.placements, strict=True):
        piece = hand_laid_marker.lay.parts[placement.part].piece
        assert stroke.path == piece.cut.transformed(placement.affine)
    assert drawing.length == figures(hand_laid_marker).length


def test_cut_outs_come_before_their_outline(hand_laid_marker: Marker) -> None:
    strokes = draw(hand_laid_marker).strokes
    cuts = [s for s in strokes if s.operation is Operation.CUT]
    assert any(stroke.inner for stroke in cuts)
    for i, stroke in enumerate(cuts):
        if stroke.inner:
            assert not any(s.part == stroke.part and not s.inner for s in cuts[:i])


def test_every_label_lies_inside_its_part(hand_laid_plan: Plan) -> None:
    for entry in hand_laid_plan.entries:
        for sheet, drawing in enumerate(draw_entry(entry)):
            placed = {p.part: p for p in entry.marker.placements if p.sheet == sheet}
            assert {t.part for t in drawing.labels if t.part is not None} == set(placed)
            for label in drawing.labels:
                if label.part is None:
                    continue
                part = entry.marker.lay.parts[label.part]
                area = piece_polygon(part.piece, by=placed[label.part].affine)
                assert area.contains(shapely.Point(label.at))


def test_cloth_shows_selvedges_ends_and_fold() -> None:
    drawing = draw(one(panel()), material=CLOTH, width=CLOTH.widths[0])
    edges = {s.role: s.path for s in drawing.strokes if s.operation is Operation.EDGE}
    assert shapely.Polygon(edges[Role.USABLE].points(1.0)).bounds == (0.0, 0.0, 300.0, 960.0)
    assert shapely.Polygon(edges[Role.CLOTH].points(1.0)).bounds == (-20.0, -20.0, 320.0, 980.0)
    assert drawing.box == (-20.0, -20.0, 320.0, 980.0)
    folded = replace(CLOTH, fold=Fold.FOLDED, widths=(Width(booked=2000.0, usable=960.0),))
    drawing = draw(one(panel()), material=folded, width=folded.widths[0])
    edges = {s.role: s.path for s in drawing.strokes if s.operation is Operation.EDGE}
    assert edges[Role.FOLD].points(1.0) == ((-20.0, 0.0), (320.0, 0.0))
    assert drawing.box == (-20.0, 0.0, 320.0, 1000.0)
    assert any("wrong side up" in note for note in drawing.notes)


def test_marks_go_to_the_cuts_they_are_for() -> None:
    marks = (
        Mark(kind=MarkKind.LINE, path=LOOP, copies=frozenset({2})),
        Mark(kind=MarkKind.LINE, path=LOOP, hands=frozenset({Hand.LEFT})),
        Mark(kind=MarkKind.LINE, path=LOOP, materials=frozenset({"Silk"})),
        Mark(kind=MarkKind.DRILL, at=(10.0, 10.0), size=3.0),
    )
    first = draw(one(panel(*marks)), material=CLOTH)
    assert not of(first, Operation.MARK)
    assert [hole.diameter for hole in first.holes] == [3.0]
    second = draw(one(panel(*marks), copy=2, copies=2), material=CLOTH)
    assert len(of(second, Operation.MARK)) == 1
    left = draw(one(panel(*marks), hand=Hand.LEFT), material=CLOTH)
    assert len(of(left, Operation.MARK)) == 1
    assert len(of(draw(one(panel(*marks))), Operation.MARK)) == 1, "material not known"


@pytest.mark.parametrize("face", Face)
@pytest.mark.parametrize("flipped", [False, True])
@pytest.mark.parametrize("wrong_up", [False, True])
def test_marks_on_the_face_below_are_said_to_be(face: Face, flipped: bool, wrong_up: bool) -> None:
    mark = Mark(kind=MarkKind.LINE, path=LOOP, face=face)
    placement = Placement(part=0, x=0.0, y=200.0, flipped=flipped)
    marker = one(panel(mark), placement=placement, flip=True)
    drawing = draw(marker, material=replace(CLOTH, wrong_side_up=wrong_up))
    right_is_up = flipped == wrong_up
    under = (face is Face.RIGHT) != right_is_up
    (stroke,) = [s for s in drawing.strokes if s.operation is Operation.MARK]
    assert stroke.under is under
    assert stroke.layer == ("mark-underside" if under else "mark")
    assert any("underside" in note for note in drawing.notes) is under


def test_notches_and_texts_are_drawn() -> None:
    drawing = draw(
        one(
            panel(
                Mark(kind=MarkKind.NOTCH, at=(150.0, 0.0), size=5.0),
                Mark(kind=MarkKind.TEXT, text="top", at=(20.0, 180.0), size=6.0),
            )
        )
    )
    (notch,) = of(drawing, Operation.NOTCH)
    assert notch.points(0.1) == ((150.0, 0.0), (150.0, 5.0))
    assert [(label.at, label.height) for label in drawing.labels if label.text == "top"] == [
        ((20.0, 180.0), 6.0)
    ]


def test_the_seam_line_is_drawn_on_its_own_layer() -> None:
    piece = replace(panel(), sew=rectangle(280.0, 180.0, at=(10.0, 10.0)))
    drawing = draw(one(piece))
    assert of(drawing, Operation.SEW) == [piece.sew]
    assert {s.layer for s in drawing.strokes if s.path == piece.sew} == {"sew"}
    assert not of(draw(one(replace(piece, sew=piece.cut))), Operation.SEW)


def test_seam_lines_motifs_and_points_are_not_run() -> None:
    knife = Machine(
        name="knife",
        kind=Kind.DRAG_KNIFE,
        reads=(Format.DXF_R12,),
        bed_length=2000.0,
        bed_width=2000.0,
        tools=tuple(Tool(operation=o, name="x", layer="1", pen=1, colour="#000000") for o in RUN),
    )
    piece = replace(
        panel(), sew=rectangle(280.0, 180.0, at=(10.0, 10.0)), points=(("corner", (10.0, 10.0)),)
    )
    drawing = draw(one(piece, binding=Binding(anchor=(150.0, 100.0), lattice=Lattice())))
    assert {"sew", "match"} <= {s.layer for s in drawing.strokes}
    done = work(drawing, knife)
    assert {s.operation for s in done.drawing.strokes} <= set(RUN)
    assert {t.operation for t in done.drawing.labels} <= set(RUN)
    assert not done.findings


def test_what_is_laid_to_a_print_shows_its_motif_boldly_and_names_its_points() -> None:
    piece = replace(panel(), points=(("corner", (10.0, 10.0)), ("flap", (200.0, 100.0))))
    lattice = Lattice(along=300.0, across=200.0)
    drawing = draw(one(piece, binding=Binding(anchor=(150.0, 100.0), lattice=lattice)))
    named = [t for t in drawing.labels if t.operation is Operation.MATCH]
    assert {t.text for t in named} == {"corner", "flap"}
    ring = next(s.path for s in drawing.strokes if s.role is Role.MOTIF and s.path.closed)
    area = polygon(ring)
    assert (area.centroid.x, area.centroid.y) == pytest.approx((150.0, 100.0))
    for text in drawing.labels:  # the name stands beside it
        assert not text_box(text.text, text.at, height=text.height).intersects(area)
    # a part matched to another is bound elsewhere than at its own middle
    matched = draw(one(piece, binding=Binding(anchor=(0.0, 0.0), lattice=lattice)))
    assert not [s for s in matched.strokes if s.role is Role.MOTIF]
    assert not of(draw(one(piece)), Operation.MATCH)
    assert of(draw(one(piece), points=True), Operation.MATCH)


@pytest.mark.parametrize(
    ("text", "label"),
    [
        ("FRONT", True),
        ("Front  cut 2", True),
        ("front 2", True),
        ("Cut 1 pair", True),
        ("front edge here", False),
        ("3 × 2", False),
        ("12", False),
        ("left", False),
        ("magnetic snap", False),
    ],
)
def test_a_pattern_s_own_label_is_not_written_beside_ours(text: str, label: bool) -> None:
    mark = Mark(kind=MarkKind.TEXT, text=text, at=(100.0, 60.0), size=8.0)
    drawing = draw(one(replace(panel(mark), name="Front")))
    assert [t.text for t in drawing.labels] == ["Front"] if label else [text, "Front"]


@pytest.mark.parametrize(
    ("turns", "one_way", "lines"),
    [(Turns(), True, 2), (Turns(angles=(0.0, 180.0)), False, 3), (Turns(slack=180.0), False, 0)],
)
def test_the_grain_has_a_head_for_each_way_up(turns: Turns, one_way: bool, lines: int) -> None:
    drawing = draw(one(panel(), turns=turns, one_way=one_way))
    assert len([s for s in drawing.strokes if s.role is Role.GRAIN]) == lines


def test_round_parts_of_goods_without_grain_have_no_arrow() -> None:
    """Their only turn (all are alike) must not be taken for a grain to be kept to."""
    drawing = draw(one(panel(), turns=Turns(), grain=False))
    assert not [s for s in drawing.strokes if s.role is Role.GRAIN]


def test_keys_are_letters_and_differ() -> None:
    pieces = tuple(f"piece {i}" for i in range(60))
    parts = [Part(name=n, piece=replace(panel(), name=n)) for n in pieces]
    names = naming(parts).keys
    keys = [names.key(part) for part in parts]
    assert keys[:2] == ["A", "B"]
    assert keys[18:22] == ["Y", "Z", "AA", "AB"]
    assert len(set(keys)) == 60
    # nothing that reads as 1, 0 or 5, nor as right and left
    assert not set("".join(keys)) & set("ILOQRS")
    trimmed = replace(parts[0], variant="trimmed")
    assert naming([*parts, trimmed]).keys.key(trimmed) == "Ab"


def test_a_key_means_one_piece_and_variant_in_all_of_a_job() -> None:
    """Two bags have a pocket of their own each and a strap in common; variants keep a letter."""
    pocket, other = panel(), replace(panel(), cut=rectangle(90.0, 80.0))
    strap = replace(panel(), name="Strap", cut=rectangle(400.0, 30.0))

    def bag(name: str, pocket: Piece) -> Bag:
        cuts = (
            Cut(piece="Panel", material="Canvas"),
            Cut(piece="Panel", material="Felt", trimmed=True),
            Cut(piece="Strap", material="Canvas"),
        )
        return Bag(name=name, pieces=(pocket, strap), cuts=cuts)

    job = Job(name="j", bags=(bag("tote", pocket), bag("roll", other)), materials=())
    keys = job_keys(job)
    assert keys.key_of("Panel", "", "tote") == "A"
    assert keys.key_of("Panel", "", "roll") == "C"
    assert keys.key_of("Strap", "", "tote") == keys.key_of("Strap", "", "roll") == "B"
    assert keys.titles == ("Panel of tote", "Strap", "Panel of roll")
    # felt knows the trimmed one only, canvas the other: their keys differ all the same
    felt = Part(name="f", piece=pocket, variant="trimmed", design="tote")
    assert naming([felt], keys=keys).keys.key(felt) == "Ab"
    bit = replace(felt, variant="trimmed, first half")
    assert keys.key(bit) == "Ab"
    assert keys.meaning(felt) == "Panel of tote, trimmed"


def test_short_labels_keep_the_bag_s_name() -> None:
    parts = [
        Part(name="a", piece=panel(), bag=1, design="tote"),
        Part(name="b", piece=panel(), bag=2, design="tote"),
        Part(name="c", piece=panel(), bag=1, design="roll"),
    ]
    names = naming(parts)
    assert [names.texts(part)[1][0] for part in parts] == [
        ("A tote 1",),
        ("A tote 2",),
        ("A roll",),
    ]
    called = shared_names([("tote, red / tote, blue", 2), ("roll", 1)])
    assert called == {"tote, red": "tote"}
    shared = naming([replace(part, design="tote, red") for part in parts[:2]], shared=called)
    assert shared.texts(replace(parts[1], design="tote, red"))[1][0] == ("A tote 2",)


def test_what_has_no_room_stands_beside_its_part_with_a_line_to_it() -> None:
    tiny = replace(panel(), cut=rectangle(1.5, 1.5))
    drawing = draw(one(tiny, placement=Placement(part=0, x=200.0, y=200.0)))
    (label,) = drawing.labels
    (line,) = [s.path for s in drawing.strokes if s.role is Role.LEADER]
    box = text_box(label.text, label.at, height=label.height)
    square = shapely.box(200.0, 200.0, 201.5, 201.5)
    assert not box.intersects(square)
    path = shapely.LineString(line.points(0.1))
    assert path.intersects(square)
    assert path.distance(box) < 1e-6
    assert drawing.legend == (("A", "Panel"),)
    assert not draw(one(tiny), lettering=Lettering(leaders=False)).labels


def test_seams_are_dashed_in_dxf_and_svg() -> None:
    drawing = draw(one(replace(panel(), sew=rectangle(280.0, 180.0, at=(10.0, 10.0)))))
    document = dxf_document(drawing)
    assert document.layers.get("SEW").dxf.linetype == "SEAM"
    assert "SEAM" in document.linetypes
    assert len(document.modelspace().query('*[layer=="SEW"]')) == 1
    (group,) = re.findall(r'<g id="sew"[^>]*>', svg(drawing))
    assert "stroke-dasharray" in group


def test_texts_say_copy_hand_variant_and_bag() -> None:
    right = Part(name="r", piece=panel(), copy=1, copies=2, variant="trimmed")
    left = replace(right, hand=Hand.LEFT, bag=2)
    full, short = naming([right, left]).texts(left, flipped=True)
    assert short == (("A 1 of 2 L bag 2",), ("A", "1 of 2", "L", "bag 2"), ("A",))
    assert full[0] == ("Panel", "1 of 2 L trimmed bag 2 face down")
    assert naming([right]).texts(right)[0][0] == ("Panel", "1 of 2 trimmed")


def test_a_sheet_is_drawn_alone(hand_laid_plan: Plan) -> None:
    foam = hand_laid_plan.entries[2]
    first, second = draw_entry(foam)
    assert first.name == "Foam: Foam sheet (1 of 2)"
    assert {s.part for s in second.strokes if s.part is not None} == {1}
    assert (second.length, second.width) == (700.0, 500.0)


def test_a_bag_whose_name_begins_a_variant_is_said() -> None:
    """A bag is known by its field, not by what the words of a variant begin with."""
    plain, trimmed = (
        Part(name=design, piece=panel(), design=design, variant="trimmed")
        for design in ("a", "trim")
    )
    said = naming((plain, trimmed))
    assert (said.bag(plain), said.bag(trimmed)) == ("a", "trim")


def test_bits_of_the_plain_variant_have_its_key() -> None:
    whole = Part(name="1", piece=panel(), variant="trimmed")
    bit = Part(name="2", piece=panel(), variant="piece 1 of 2", pieced=2)
    keys = replace(naming((whole,)).keys, variants=(("trimmed", ""),))
    assert (keys.key(whole), keys.key(bit)) == ("A", "Ab")


@pytest.mark.parametrize(
    "ring",
    [
        [(0, 0), (40, 30), (40, 0), (0, 30)],  # it crosses itself
        [(0, 0), (40, 30), (80, 60)],  # nothing is within
        [(0, 0), (20, 0), (20, 5000), (21, 0), (40, 0), (40, 30), (0, 30), (10, -9)],
    ],
)
def test_an_outline_of_a_spoilt_plan_can_be_named(ring: list[tuple[float, float]]) -> None:
    area = _sound(shapely.Polygon(ring))
    assert area.is_valid
    assert not area.is_empty
