"""Cutting lists become parts: copies, hands, turns, variants, marks, bags."""

from __future__ import annotations

from pathlib import Path as FilePath

import numpy as np
import pytest
from shapely import affinity

from nesting.errors import JobError
from nesting.job.file import parse_job, read_job
from nesting.marker.lay import Strip, Turns
from nesting.material.material import Width
from nesting.pattern.piece import Hand, MarkKind
from nesting.pattern.polygon import piece_polygon
from nesting.planning.lay.lays import lays, too_big
from tests.unit.planning.lay.jobs import LOPSIDED, TEXT, alike, lay, strip_width
from tests.unit.planning.lay.test_folded_lays import FOLDED

SAMPLES = FilePath(__file__).parents[4] / "sample_markers"


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
