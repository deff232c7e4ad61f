"""Lays of folded cloth."""

from __future__ import annotations

import pytest
import shapely
from shapely import affinity

from nesting.marker.lay import Edge, Strip, Turns
from nesting.pattern.polygon import piece_polygon
from tests.unit.planning.lay.jobs import alike, lay

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
