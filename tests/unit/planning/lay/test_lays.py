from __future__ import annotations

import math
from pathlib import Path as FilePath

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely import Polygon, affinity
from shapely.geometry.base import BaseGeometry

from nesting.errors import JobError
from nesting.job.file import parse_job, read_job
from nesting.marker.lay import Edge, Lay, Part, Region, Sheet, Sheets, Strip, Turns
from nesting.material.material import Cloth, Width
from nesting.pattern.path import Affine, Path
from nesting.pattern.piece import Hand, MarkKind, Piece
from nesting.pattern.polygon import piece_polygon, polygon
from nesting.planning.lay.lays import lays, too_big

SAMPLES = FilePath(__file__).parents[4] / "sample_markers"

# A lopsided piece: no turn and no mirror image of it is itself.
LOPSIDED = 'outline = "M 0,0 L 200,0 L 200,60 C 150,60 120,90 100,100 L 0,40 Z"'

TEXT = """
[job]
name = "Test"
HEAD

[[piece]]
name = "side"
SHAPE
PIECE

[[cloth]]
name = "canvas"
width = 1400
selvedge = 0
CLOTH

[[cut]]
piece = "side"
material = "canvas"
CUT
"""


def lay(
    *,
    cut: str = "",
    cloth: str = "",
    piece: str = "",
    shape: str = LOPSIDED,
    head: str = "",
    more: str = "",
) -> Lay:
    """Return the lay of a job of one piece."""
    text = TEXT.replace("SHAPE", shape).replace("PIECE", piece).replace("CLOTH", cloth)
    (found,) = lays(parse_job(text.replace("HEAD", head).replace("CUT", cut) + more))
    return found


def alike(first: BaseGeometry, second: BaseGeometry) -> bool:
    return bool(shapely.symmetric_difference(first, second).area < 1e-3 * first.area)


def strip_width(found: Lay) -> float:
    assert isinstance(found.stock, Strip)
    return found.stock.width


def test_a_plain_lay() -> None:
    found = lay(cloth="spacing = 4\nlongest = 3000\nends = 20", cut="copies = 2")
    assert found.name == "canvas"
    assert found.stock == Strip(width=1400.0, longest=2960.0)
    assert found.spacing == 4.0
    assert [part.name for part in found.parts] == ["side 1 of 2", "side 2 of 2"]
    assert [(part.copy, part.copies) for part in found.parts] == [(1, 2), (2, 2)]
    assert found.parts[0].piece is found.parts[1].piece
    assert found.parts[0].turns == Turns(angles=(0.0, 180.0))


def test_pairs_are_one_right_and_one_left() -> None:
    """Never two rights: the left outline is the right one reflected in the grain line."""
    found = lay(cut="copies = 2\npairs = true", piece="grain = 30")
    assert [part.name for part in found.parts] == [
        "side 1 of 2 R",
        "side 1 of 2 L",
        "side 2 of 2 R",
        "side 2 of 2 L",
    ]
    right, left = (piece_polygon(part.piece) for part in found.parts[:2])
    assert [part.hand for part in found.parts[:2]] == [Hand.RIGHT, Hand.LEFT]
    assert alike(left, affinity.scale(right, 1, -1, origin=(0, 0)))
    turned = [affinity.rotate(right, angle, origin="centroid") for angle in (0, 180)]
    moved = affinity.translate(
        left, right.centroid.x - left.centroid.x, right.centroid.y - left.centroid.y
    )
    assert not any(alike(moved, shape) for shape in turned)


def test_a_reversed_cut_is_the_left_one_alone() -> None:
    """The lining of a flap that is no mirror image of itself: one, and the other way round."""
    (part,) = lay(cut="reversed = true", piece="grain = 30").parts
    right, left = (
        piece_polygon(part.piece) for part in lay(cut="pairs = true", piece="grain = 30").parts
    )
    assert (part.name, part.variant, part.hand) == ("side reversed", "reversed", Hand.LEFT)
    assert alike(piece_polygon(part.piece), left)
    assert not alike(piece_polygon(part.piece), right)


def test_reversed_carries_the_marks_of_the_left_hand() -> None:
    marks = '[[piece.mark]]\nkind = "drill"\nat = [50, 40]\nhands = "HAND"'
    for hand, count in (("left", 1), ("right", 0)):
        (part,) = lay(cut="reversed = true", piece=marks.replace("HAND", hand)).parts
        assert len(part.piece.marks) == count


def test_on_folded_cloth_one_reversed_is_one_part_not_a_pair() -> None:
    (part,) = lay(cloth=FOLDED, cut="reversed = true").parts
    assert not part.both_hands


@pytest.mark.parametrize(
    ("grain", "cut", "degrees"),
    [("0", "0", 0), ("90", "0", -90), ("0", '"across"', -90), ("30", '"bias"', -75)],
)
def test_parts_lie_upright(grain: str, cut: str, degrees: float) -> None:
    """The grain of the part, or what the cut asks for instead, runs along the cloth."""
    found = lay(piece=f"grain = {grain}", cut=f"grain = {cut}").parts[0].piece
    drawn = piece_polygon(lay().parts[0].piece)
    assert found.grain == 0.0
    assert alike(piece_polygon(found), affinity.rotate(drawn, degrees, origin=(0, 0)))


@pytest.mark.parametrize(
    ("cloth", "cut", "turns"),
    [
        ('nap = "none"', "", Turns(angles=(0.0, 180.0))),
        ('nap = "one-way"', "", Turns()),
        ('nap = "any"', "", Turns(slack=180.0)),
        ('nap = "one-way"', 'nap = "none"', Turns(angles=(0.0, 180.0))),
        ('nap = "any"', 'nap = "one-way"', Turns()),
        ("turn_slack = 3", "", Turns(angles=(0.0, 180.0), slack=3.0)),
        ("turn_slack = 3", "turn_slack = 0", Turns(angles=(0.0, 180.0))),
        ("", 'grain = "bias"', Turns(angles=(0.0, 90.0, 180.0, 270.0))),
        ('nap = "one-way"', 'grain = "bias"', Turns()),
    ],
)
def test_turns(cloth: str, cut: str, turns: Turns) -> None:
    part = lay(cloth=cloth, cut=cut).parts[0]
    assert part.turns == turns
    assert part.one_way == ("one-way" in (cut if "nap" in cut else cloth))
    assert part.grain == ("any" not in (cut if "nap" in cut else cloth))


@pytest.mark.parametrize(
    ("shape", "nap", "turns"),
    [
        ("rectangle = [100, 50]", "none", Turns()),
        ("circle = 80", "any", Turns()),
        ("ellipse = [80, 70]", "any", Turns(slack=180.0)),
        ("rectangle = [80, 80]", "any", Turns(slack=180.0)),
        ("points = [[0, 0], [100, 0], [50, 40]]", "none", Turns(angles=(0.0, 180.0))),
    ],
)
def test_no_turn_of_a_symmetric_piece_is_searched_twice(shape: str, nap: str, turns: Turns) -> None:
    assert lay(shape=shape, cloth=f'nap = "{nap}"').parts[0].turns == turns


@pytest.mark.parametrize(
    ("shape", "cloth", "flip"),
    [
        (LOPSIDED, "faces_alike = true", True),
        (LOPSIDED, "", False),
        ("rectangle = [100, 50]", "faces_alike = true", False),
        ("points = [[0, 0], [100, 25], [0, 50]]", "faces_alike = true", False),
        ("points = [[0, 0], [100, 0], [50, 40]]", 'nap = "none"\nfaces_alike = true', False),
        ("points = [[0, 0], [100, 0], [50, 40]]", 'nap = "one-way"\nfaces_alike = true', True),
    ],
)
def test_flips_are_free_where_faces_are_alike_and_make_a_difference(
    shape: str, cloth: str, flip: bool
) -> None:
    assert lay(shape=shape, cloth=cloth).parts[0].flip is flip


def test_goods_laid_wrong_side_up_give_mirrored_outlines() -> None:
    up = lay(cut="pairs = true").parts
    down = lay(cut="pairs = true", cloth="wrong_side_up = true").parts
    assert [part.hand for part in down] == [Hand.RIGHT, Hand.LEFT]
    for one, other in zip(up, reversed(down), strict=True):
        assert alike(piece_polygon(one.piece), piece_polygon(other.piece))


def test_variants() -> None:
    shape = "rectangle = [200, 100]\nseam_allowance = 10\nfold_back = [[0, 60], [200, 60]]"
    cuts = [
        "",
        "trimmed = true",
        "trimmed = true\ngap = 2",
        "rough_margin = 15",
        "folded_back = true",
    ]
    more = "".join(f'[[cut]]\npiece = "side"\nmaterial = "canvas"\n{cut}\n' for cut in cuts[1:])
    found = lay(shape=shape, more=more)
    assert [part.name for part in found.parts] == [
        "side",
        "side trimmed",
        "side trimmed #2",
        "side rough cut",
        "side folded back",
    ]
    sizes = [np.ptp(part.piece.cut.points(0.01), axis=0).tolist() for part in found.parts]
    assert sizes == [
        pytest.approx([200, 100]),
        pytest.approx([180, 80]),
        pytest.approx([176, 76]),
        pytest.approx([230, 130]),
        pytest.approx([200, 60]),
    ]
    assert [part.variant for part in found.parts][1] == "trimmed"


def test_marks_go_to_the_cuts_they_are_for() -> None:
    marks = "".join(
        f'[[piece.mark]]\nkind = "drill"\nname = "{name}"\nat = [50, 30]\n{rule}\n'
        for name, rule in {
            "all": "",
            "first": "copies = 1",
            "left": 'hands = "left"',
            "lining": 'materials = "lining"',
            "right second": 'copies = [2]\nhands = ["right"]',
        }.items()
    )
    lining = (
        '[[cloth]]\nname = "lining"\nwidth = 1000\n[[cut]]\npiece = "side"\nmaterial = "lining"'
    )
    text = TEXT.replace("SHAPE", LOPSIDED).replace("PIECE", marks).replace("CLOTH", "")
    text = text.replace("HEAD", "").replace("CUT", "copies = 2\npairs = true") + lining
    canvas, other = lays(parse_job(text))
    names = {part.name: [mark.name for mark in part.piece.marks] for part in canvas.parts}
    assert names == {
        "side 1 of 2 R": ["all", "first"],
        "side 1 of 2 L": ["all", "first", "left"],
        "side 2 of 2 R": ["all", "right second"],
        "side 2 of 2 L": ["all", "left"],
    }
    assert [mark.name for mark in other.parts[0].piece.marks] == ["all", "first", "lining"]
    assert all(mark.kind is MarkKind.DRILL for mark in canvas.parts[0].piece.marks)


def test_shrinkage_either_way() -> None:
    """Cut larger by 1/(1 - s); or the cloth is washed and is narrower when it is laid."""
    cut = lay(cloth="shrinkage = { along = 0.04, across = 0.02, cut_larger = true }")
    plain = piece_polygon(lay().parts[0].piece)
    larger = affinity.scale(plain, 1 / 0.96, 1 / 0.98, origin=(0, 0))
    assert alike(piece_polygon(cut.parts[0].piece), larger)
    assert cut.stock == Strip(width=1400.0)
    washed = lay(cloth="shrinkage = { along = 0.04, across = 0.02 }")
    assert strip_width(washed) == pytest.approx(1372.0)
    assert alike(piece_polygon(washed.parts[0].piece), plain)


# ------------------------------------------------------------------ folded cloth

FOLDED = 'fold = "folded"'


def test_folded_cloth_is_laid_on_half_the_width() -> None:
    assert lay(cloth=FOLDED).stock == Strip(width=700.0)


def test_on_folded_cloth_a_pair_is_cut_at_once() -> None:
    (part,) = lay(cloth=FOLDED, cut="pairs = true").parts
    assert part.name == "side R+L"


def test_on_folded_cloth_a_fold_piece_is_a_half_at_the_fold() -> None:
    shape = "points = [[0, 0], [200, 0], [180, 80], [0, 60]]"
    (part,) = lay(cloth=FOLDED, shape=shape, piece="fold_edge = 1").parts
    assert part.edge is Edge.LOW
    assert part.turns == Turns()
    half = piece_polygon(part.piece)
    whole = piece_polygon(lay(shape=shape, piece="fold_edge = 1").parts[0].piece)
    assert half.area == pytest.approx(whole.area / 2)
    assert half.bounds[1] == pytest.approx(0.0)
    both = shapely.union(half, affinity.scale(half, 1, -1, origin=(0, 0)))
    assert alike(both, whole)


def test_a_fold_across_the_grain_cannot_lie_on_the_fold() -> None:
    shape = "points = [[0, 0], [200, 0], [180, 80], [0, 60]]"
    (part,) = lay(cloth=FOLDED, shape=shape, piece='fold_edge = 1\ngrain = "across"').parts
    assert part.edge is None


def test_on_folded_cloth_single_pieces_take_both_plies() -> None:
    lopsided = lay(cloth=FOLDED, cut="copies = 3").parts
    assert [part.name for part in lopsided] == [f"side {i} of 3" for i in (1, 2, 3)]
    even = lay(cloth=FOLDED, cut="copies = 3", shape="rectangle = [100, 50]").parts
    assert [part.name for part in even] == ["side 1+2 of 3", "side 3 of 3"]


def test_on_folded_cloth_two_bags_share_the_plies_of_an_odd_piece() -> None:
    more = {"head": "bags = 3", "cut": "copies = 3", "shape": "rectangle = [100, 50]"}
    parts = lay(cloth=FOLDED, **more).parts
    assert [part.name for part in parts] == [
        "side 1+2 of 3 (bag 1)",
        "side 3 of 3 (bag 1+2)",
        "side 1+2 of 3 (bag 2)",
        "side 1+2 of 3 (bag 3)",
        "side 3 of 3 (bag 3)",
    ]
    assert [part.other_bag for part in parts] == [None, 2, None, None, None]
    # A lopsided piece would be mirrored in the second ply, and what is centred on a print is
    # so for its own bag only.
    assert len(lay(cloth=FOLDED, head="bags = 3", cut="copies = 3").parts) == 9
    printed = FOLDED + "\nfold_print = true\nprint = { along = 80, across = 60 }"
    assert len(lay(cloth=printed, **more).parts) == 5
    centred = {**more, "cut": "copies = 3\ncentred = true"}
    assert len(lay(cloth=printed, **centred).parts) == 6


# ------------------------------------------------------------------------ prints

PRINT = "print = { along = 80, across = 60, drop = 0.5, origin = [7, 9], off_centre = 1 }"


def test_centred_motifs() -> None:
    (part,) = lay(cloth=PRINT, cut="centred = true").parts
    assert part.binding is not None
    assert part.binding.phase is None
    assert part.binding.anchor == pytest.approx((100.0, 50.0))
    lattice = part.binding.lattice
    assert (lattice.along, lattice.across, lattice.drop) == (80.0, 60.0, 0.5)
    assert (lattice.origin, lattice.tolerance) == ((7.0, 9.0), 1.0)
    assert part.turns == Turns()
    named = lay(cloth=PRINT, cut="centred = true", piece="motif = [60, 20]\ngrain = 90")
    assert named.parts[0].binding is not None
    assert named.parts[0].binding.anchor == pytest.approx((20.0, -60.0))


def test_uncentred_parts_of_printed_cloth_are_not_bound() -> None:
    assert lay(cloth=PRINT).parts[0].binding is None


MATCH = """
[job]
name = "Test"

[[piece]]
name = "front"
rectangle = [300, 200]
seam_allowance = 10
named_points = { seam = [10, 190] }

[[piece]]
name = "flap"
rectangle = [300, 120]
seam_allowance = 10
named_points = { seam = [10, 10] }
FLAP

[[cloth]]
name = "print"
width = 1400
nap = "NAP"
print = { along = 70, across = 45, drop = 0.5 }

[[cut]]
piece = "front"
material = "print"
FRONT

[[cut]]
piece = "flap"
material = "print"
matches = { point = "seam", piece = "front", to = "seam" }
CUT
"""


def matched(*, flap: str = "", front: str = "", cut: str = "", nap: str = "one-way") -> Lay:
    text = MATCH.replace("FLAP", flap).replace("FRONT", front).replace("CUT", cut)
    (found,) = lays(parse_job(text.replace("NAP", nap)))
    return found


def point_of(part: Part, name: str) -> tuple[float, float]:
    return dict(part.piece.points)[name]


@pytest.mark.parametrize("front", ["", "centred = true"])
@pytest.mark.parametrize("angle", [0.0, 180.0])
@pytest.mark.parametrize("flap", ["", "grain = 90", "grain = 180"])
def test_matched_parts_carry_the_print_across_the_seam(front: str, angle: float, flap: str) -> None:
    """With both anchors on the lattice, the points sewn together show the same print."""
    found = matched(front=front, nap="none", flap=flap)
    one, two = found.parts
    assert one.turn_group == two.turn_group is not None
    assert one.binding is not None
    assert two.binding is not None
    assert one.binding.phase == two.binding.phase
    assert (one.binding.phase is None) == bool(front)
    turn = Affine.turn(angle)
    lattice_points = [(70.0 * 3, 0.0), (70.0 * 8 + 35.0, 45.0 * 5)]
    shown = []
    for part, (x, y) in zip((one, two), lattice_points, strict=True):
        assert part.binding is not None
        ax, ay = turn(part.binding.anchor)
        px, py = turn(point_of(part, "seam"))
        shown.append((px + x - ax, py + y - ay))
    dx, dy = shown[0][0] - shown[1][0], shown[0][1] - shown[1][1]
    row = round(dy / 45.0)
    assert dy == pytest.approx(45.0 * row, abs=1e-9)
    assert math.remainder(dx - 35.0 * (row % 2), 70.0) == pytest.approx(0.0, abs=1e-9)


def test_matched_pairs_are_matched_hand_by_hand() -> None:
    found = matched(front="pairs = true", cut="pairs = true")
    phases: dict[Hand, set[str | None]] = {Hand.RIGHT: set(), Hand.LEFT: set()}
    for part in found.parts:
        assert part.binding is not None
        phases[part.hand].add(part.binding.phase)
    assert len(phases[Hand.RIGHT]) == len(phases[Hand.LEFT]) == 1
    assert phases[Hand.RIGHT] != phases[Hand.LEFT]


def test_copies_are_matched_one_by_one_where_there_are_as_many() -> None:
    found = matched(front="copies = 2", cut="copies = 2")
    assert len({part.binding.phase for part in found.parts if part.binding}) == 2
    single = matched(cut="copies = 2")
    assert len({part.binding.phase for part in single.parts if part.binding}) == 1


# --------------------------------------------------------------- sheets and hides


def test_remnants_come_before_sheets() -> None:
    text = """
[job]
name = "Test"
[[piece]]
name = "pad"
rectangle = [100, 80]
[[sheet]]
name = "foam"
size = [600, 900]
count = 3
margin = 5
[[sheet.remnant]]
name = "rest"
rectangle = [300, 200]
[[cut]]
piece = "pad"
material = "foam"
"""
    (found,) = lays(parse_job(text))
    assert isinstance(found.stock, Sheets)
    assert [(s.name, s.count) for s in found.stock.sheets] == [("rest", 1), ("foam", 3)]
    assert polygon(found.stock.sheets[1].outline).bounds == (0, 0, 600, 900)
    assert found.stock.margin == 5.0
    only = text.replace("count = 3", "count = 0")
    (found,) = lays(parse_job(only))
    assert isinstance(found.stock, Sheets)
    assert [s.name for s in found.stock.sheets] == ["rest"]


LEATHER = """
[job]
name = "Test"

[[piece]]
name = "strap"
outline = "M 0,0 L 200,0 L 210,15 L 200,30 L 0,28 Z"

[[piece]]
name = "keeper"
rectangle = [60, 20]

[[leather]]
name = "calf"
GOODS

[[leather.hide]]
name = "hide 1"
rectangle = [900, 600]
backbone = BACKBONE
FLAWS

[[leather.hide.zone]]
grade = "A"
rectangle = [400, 300]
at = [100, 100]
tight = TIGHT
slack = 10

[[leather.hide.zone]]
grade = "B"
rectangle = [300, 300]
at = [500, 100]

[[cut]]
piece = "strap"
material = "calf"
CUT

[[cut]]
piece = "keeper"
material = "calf"
KEEPER
"""


def hides(
    cut: str = "",
    *,
    keeper: str = "",
    goods: str = "",
    flaws: str = "",
    backbone: str = "0",
    tight: str = "90",
) -> tuple[Lay, Sheets]:
    text = LEATHER.replace("CUT", cut).replace("KEEPER", keeper).replace("GOODS", goods)
    text = text.replace("FLAWS", flaws).replace("BACKBONE", backbone).replace("TIGHT", tight)
    (found,) = lays(parse_job(text))
    assert isinstance(found.stock, Sheets)
    return found, found.stock


def test_grades_are_regions_of_zones_at_least_so_good() -> None:
    found, stock = hides('grade = "B"', keeper='grade = "A"')
    strap, keeper = found.parts
    (sheet,) = stock.sheets
    areas = {
        part.name: sorted(
            polygon(outline).area
            for region in sheet.regions
            if region.name == part.region
            for outline in region.outlines
        )
        for part in found.parts
    }
    assert areas == {"strap": [90_000.0, 210_000.0], "keeper": [120_000.0]}
    assert strap.region != keeper.region
    # Zones that agree on a direction make one region, so that parts may reach across; where
    # only one of them allows it, a part lies in that one alone.
    turns = {region.turns for region in sheet.regions if region.name == strap.region}
    assert turns == {Turns(angles=(90.0, 270.0), slack=10.0), None}


def area_of(region: Region) -> float:
    rings = [polygon(path) for path in region.outlines]
    return rings[0].area - sum(ring.area for ring in rings[1:])


def test_the_poorest_grade_is_the_whole_hide_and_tightness_holds_there_too() -> None:
    """A cut that says no grade is bound by tightness like any other, unless it says otherwise."""
    for cut in ('grade = "D"', ""):
        found, stock = hides(cut, keeper="turn_slack = 180")
        strap, keeper = found.parts
        assert keeper.region is None
        regions = [r for r in stock.sheets[0].regions if r.name == strap.region]
        areas = {r.turns: area_of(r) for r in regions}
        assert areas == {
            Turns(angles=(90.0, 270.0), slack=10.0): pytest.approx(900 * 600),
            None: pytest.approx(900 * 600 - 400 * 300),
        }


def test_a_hide_without_zones_is_good_all_over() -> None:
    text = LEATHER.replace("CUT", 'grade = "A"').replace("KEEPER", "").replace("GOODS", "")
    text = text.replace("FLAWS", "").replace("BACKBONE", "0")
    zones = text.index("[[leather.hide.zone]]"), text.index("[[cut]]")
    job = parse_job(text[: zones[0]] + text[zones[1] :])
    (found,) = lays(job)
    assert isinstance(found.stock, Sheets)
    (region,) = found.stock.sheets[0].regions
    assert polygon(region.outlines[0]).area == pytest.approx(900 * 600)
    assert any("no zones are drawn" in sentence for sentence in job.assumptions)


def test_parts_with_a_nap_of_their_own_keep_to_the_backbone() -> None:
    found, stock = hides('grade = "A"\nnap = "one-way"', tight="8")
    (sheet,) = stock.sheets
    assert found.parts[0].turns == Turns()
    assert sheet.regions[0].turns is None


def test_zones_whose_tightness_runs_another_way_are_not_for_them() -> None:
    with pytest.raises(JobError, match="its direction"):
        hides('grade = "A"\nnap = "none"', tight="90")


def test_a_hide_is_turned_so_that_its_backbone_runs_along_x() -> None:
    _, stock = hides('grade = "A"', backbone="90")
    (sheet,) = stock.sheets
    assert polygon(sheet.outline).bounds == pytest.approx((0, -900, 600, 0))
    assert sheet.regions[0].turns == Turns(angles=(0.0, 180.0), slack=10.0)
    assert polygon(sheet.regions[0].outlines[0]).bounds == pytest.approx((100, -500, 400, -100))


def test_flaws_become_holes_however_they_overlap() -> None:
    def flaw(x: float, y: float, size: float) -> str:
        return f"[[leather.hide.flaw]]\ncircle = {size}\nat = [{x}, {y}]\n"

    cases = {
        "apart": flaw(200, 450, 40) + flaw(700, 450, 60),
        "overlapping": flaw(200, 450, 60) + flaw(220, 450, 60),
        "at the edge": flaw(0, 300, 80) + flaw(450, 600, 50),
        "one in another": flaw(300, 450, 100) + flaw(300, 450, 20),
    }
    for flaws in cases.values():
        _, stock = hides(flaws=flaws)
        (sheet,) = stock.sheets
        area = polygon(sheet.outline, sheet.holes)
        assert area.is_valid
        job = parse_job(
            LEATHER.replace("FLAWS", flaws)
            .replace("BACKBONE", "0")
            .replace("TIGHT", "0")
            .replace("CUT", "")
            .replace("KEEPER", "")
            .replace("GOODS", "")
        )
        (leather,) = job.materials
        assert not isinstance(leather, Cloth)
        drawn = shapely.union_all([polygon(f) for f in leather.hides[0].flaws])  # type: ignore[union-attr]
        assert alike(area, shapely.difference(shapely.box(0, 0, 900, 600), drawn))


def test_a_flaw_that_cuts_a_hide_apart_leaves_two_bits() -> None:
    _, stock = hides(flaws="[[leather.hide.flaw]]\nrectangle = [20, 700]\nat = [300, -50]\n")
    assert [s.name for s in stock.sheets] == ["hide 1 bit 1", "hide 1 bit 2"]
    assert [polygon(s.outline).area for s in stock.sheets] == pytest.approx([580 * 600, 300 * 600])


def test_mates_lie_together_and_turn_alike_on_leather() -> None:
    found, _ = hides("copies = 2\nmates = true", keeper='mates = "strap"')
    assert {part.mates for part in found.parts} == {"Test 1: strap"}
    assert {part.turn_group for part in found.parts if part.turns.slack} == {"Test 1: strap"}


# ------------------------------------------------------------------ several bags


def test_bags_are_told_apart() -> None:
    found = lay(head="bags = 3", cut="copies = 2")
    assert len({part.name for part in found.parts}) == 6
    assert found.parts[3].name == "side 2 of 2 (bag 2)"
    assert [part.bag for part in found.parts] == [1, 1, 2, 2, 3, 3]
    assert found.parts[0].piece is found.parts[4].piece


def test_bags_of_several_designs_are_named() -> None:
    bags = '[[bag]]\nname = "big"\ncount = 2\n[[bag]]\nname = "small"\n'
    text = TEXT.replace("SHAPE", LOPSIDED).replace("PIECE", "").replace("CLOTH", "")
    (found,) = lays(parse_job(text.replace("HEAD", "").replace("CUT", "") + bags))
    names = [part.name for part in found.parts]
    assert names == ["side (big 1)", "side (big 2)", "side (small 1)"]


# --------------------------------------------------------- which, how wide, too big


def test_only_and_widths() -> None:
    job = read_job(SAMPLES / "tool_roll" / "tool_roll.toml")
    (lining,) = lays(job, only=["lining"])
    assert strip_width(lining) == pytest.approx(1070 * 0.98)
    wide = Width(booked=1500, usable=1470)
    (lining,) = lays(job, only=["lining"], widths={"lining": wide})
    assert strip_width(lining) == pytest.approx(1470 * 0.98)
    with pytest.raises(JobError, match="there are: waxed canvas"):
        lays(job, only=["silk"])


JOBS = [p for p in sorted(SAMPLES.glob("*/*.toml")) if "[job]" in p.read_text(encoding="utf-8")]


@pytest.mark.parametrize("path", JOBS, ids=lambda path: path.stem)
def test_lays_of_the_samples(path: FilePath) -> None:
    every = lays(read_job(path))
    assert every
    for found in every:
        assert found.parts
        assert len({part.name for part in found.parts}) == len(found.parts)
        assert too_big(found) == ()


def rectangle_lay(
    length: float, width: float, stock: Strip | Sheets, *, turns: Turns | None = None
) -> Lay:
    ring = [(0.0, 0.0), (length, 0.0), (length, width), (0.0, width)]
    piece = Piece(name="p", cut=Path.polyline(ring, closed=True))
    part = Part(name="p", piece=piece, turns=turns or Turns(angles=(0.0, 180.0)))
    return Lay(name="m", parts=(part,), stock=stock)


@pytest.mark.parametrize(
    ("width", "turns", "hint"),
    [
        (100.0, Turns(angles=(0.0, 180.0)), None),
        (100.0 - 1e-9, Turns(angles=(0.0, 180.0)), None),
        (99.9, Turns(angles=(0.0, 180.0)), "across"),
        (99.9, Turns(angles=(0.0, 90.0)), None),
        (99.9, Turns(slack=180.0), None),
        (49.9, Turns(slack=180.0), "pieced"),
        (99.9, Turns(angles=(0.0,), slack=5.0), "across"),
        (99.9, Turns(angles=(0.0,), slack=80.0), None),
    ],
)
def test_too_wide(width: float, turns: Turns, hint: str | None) -> None:
    """50 × 100 mm on a strip."""
    found = too_big(rectangle_lay(50, 100, Strip(width=width), turns=turns))
    if hint is None:
        assert found == ()
    else:
        assert "needs a width" in found[0].why
        assert hint in found[0].hint


def sheet(length: float, width: float, *, margin: float = 0.0) -> Sheets:
    ring = [(0.0, 0.0), (length, 0.0), (length, width), (0.0, width)]
    one = Sheet(name="s", outline=Path.polyline(ring, closed=True), count=1)
    return Sheets(sheets=(one,), margin=margin)


def test_too_big_for_a_sheet() -> None:
    assert too_big(rectangle_lay(100, 50, sheet(100, 50))) == ()
    assert too_big(rectangle_lay(100, 50, sheet(100, 50, margin=1)))
    (big,) = too_big(rectangle_lay(100, 50, sheet(60, 110)))
    assert "turned" in big.hint
    assert too_big(rectangle_lay(100, 50, sheet(60, 110), turns=Turns(slack=180.0))) == ()


def test_no_sheet_at_all() -> None:
    (big,) = too_big(rectangle_lay(100, 50, Sheets(sheets=())))
    assert "none to cut from" in big.why


def test_a_long_part_fits_a_square_along_its_diagonal() -> None:
    """A strip of 1 × L lies in a square of side s at 45° if L + 1 ≤ s·√2."""
    assert too_big(rectangle_lay(140, 1, sheet(100, 100), turns=Turns(slack=180.0))) == ()
    assert too_big(rectangle_lay(142, 1, sheet(100, 100), turns=Turns(slack=180.0)))


points = st.tuples(st.floats(0, 300), st.floats(0, 300))


@settings(deadline=None, max_examples=60)
@given(
    st.lists(points, min_size=4, max_size=9, unique=True),
    st.sampled_from([0.0, 5.0, 40.0, 180.0]),
    st.floats(-180, 180),
)
def test_whatever_is_too_wide_is_so_at_every_turn_tried(
    corners: list[tuple[float, float]], slack: float, angle: float
) -> None:
    """Against brute force over turns: the least width found is the least there is."""
    hull = shapely.MultiPoint(corners).convex_hull
    if not isinstance(hull, Polygon) or hull.area < 10.0:
        return
    ring = list(hull.exterior.coords)[:-1]
    piece = Piece(name="p", cut=Path.polyline([(x, y) for x, y, *_ in ring[::-1]], closed=True))
    turns = Turns(angles=(angle,), slack=slack)
    tried = np.linspace(angle - slack, angle + slack, 721)
    xy = np.asarray(ring)
    widths = [
        np.ptp(xy[:, 0] * math.sin(math.radians(a)) + xy[:, 1] * math.cos(math.radians(a)))
        for a in tried
    ]
    least = float(min(widths))
    lay = Lay(name="m", parts=(Part(name="p", piece=piece, turns=turns),), stock=Strip(width=least))
    assert too_big(lay) == ()
    narrow = Lay(name="m", parts=lay.parts, stock=Strip(width=least * 0.97 - 1.0))
    assert too_big(narrow)
