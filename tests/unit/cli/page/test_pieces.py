"""Pieces that are worked on at the page: what is written, and that it can be laid."""

from __future__ import annotations

import tomllib
from pathlib import Path
from typing import Any

import pytest
from thriftlay.page.at_piece import at_piece, turned
from thriftlay.page.job_file import JobFile
from thriftlay.page.making import edited, making

from nesting import read_job
from nesting.errors import JobError
from nesting.pattern.measure import bounds
from nesting.pattern.piece import Piece
from nesting.pattern.sides import centre

TEXT = """# mine
[job]
name = "bag"
unit = "cm"

[[piece]]  # the front
name = "front"
rectangle = [24, 18]  # as I like it
line = "sewing"

[[piece]]
name = "half"
from = "half.svg"

# what it is cut from
[[cloth]]
name = "canvas"
width = 140

[[cloth]]
name = "lining"
width = 140

[[cut]]
piece = "front"
material = ["canvas", "lining"]
copies = 2

[[cut]]
piece = "half"
material = "canvas"
"""
HALF = (
    '<svg xmlns="http://www.w3.org/2000/svg" width="300mm" height="300mm" viewBox="0 0 300 300">'
    '<g id="half"><path class="cut" d="M 10 10 h 100 v 80 h -80 l -20 -40 z"/>'
    '<path class="sew" d="M 20 20 h 80 v 60 h -64 l -16 -32 z"/>'
    '<circle class="drill" cx="60" cy="60" r="2"/><circle class="drill" cx="60" cy="40" r="2"/>'
    '<line class="grain" x1="50" y1="70" x2="50" y2="30"/></g></svg>'
)


@pytest.fixture
def file(tmp_path: Path) -> JobFile:
    (tmp_path / "half.svg").write_text(HALF, encoding="utf-8")
    (tmp_path / "bag.toml").write_text(TEXT, encoding="utf-8")
    return JobFile(tmp_path / "bag.toml")


def piece(file: JobFile, name: str) -> Piece:
    return next(p for p in read_job(file.path).bags[0].pieces if p.name == name)


def shown(file: JobFile, name: str) -> dict[str, Any]:
    return at_piece(file, {"piece": name})


def size(one: Piece) -> tuple[float, float]:
    x0, y0, x1, y1 = bounds(one.cut)
    return x1 - x0, y1 - y0


def test_an_allowance_is_given_edge_by_edge_and_the_others_stay(file: JobFile) -> None:
    assert [e["allowance"] for e in shown(file, "front")["edges"]] == ["10 mm"] * 4
    assert [e["name"] for e in shown(file, "front")["edges"]] == ["bottom", "right", "top", "left"]
    edited(file, {"what": "edge", "piece": "front", "edge": 3, "allowance": "2,5"})
    assert size(piece(file, "front")) == pytest.approx((260.0, 215.0))
    edited(file, {"what": "edge", "piece": "front", "edge": 2, "allowance": "5 mm"})
    allowances = [e["allowance"] for e in shown(file, "front")["edges"]]
    assert allowances == ["10 mm", "5 mm", "25 mm", "10 mm"]
    edited(file, {"what": "edge", "piece": "front", "edge": 0, "allowance": "8 mm"})
    assert size(piece(file, "front")) == pytest.approx((256.0, 196.0))
    assert 'seam_allowance = "8 mm"' in file.text
    for line in ("# mine", "[[piece]]  # the front", "rectangle = [24, 18]  # as I like it"):
        assert line in file.text


def test_of_a_pattern_file_the_allowances_that_are_drawn_stay(file: JobFile) -> None:
    before = shown(file, "half")["edges"]
    longest = next(e["edge"] for e in before if e["long"] == "10 cm")
    edited(file, {"what": "edge", "piece": "half", "edge": longest, "allowance": "15 mm"})
    after = shown(file, "half")["edges"]
    for one, other in zip(before, after, strict=True):
        assert other["allowance"] == ("15 mm" if one["edge"] == longest else one["allowance"])


def test_an_edge_is_laid_on_the_fold_and_the_piece_opens(file: JobFile) -> None:
    (edge,) = (e["edge"] for e in shown(file, "half")["edges"] if e["long"] == "8 cm" and _right(e))
    edited(file, {"what": "edge", "piece": "half", "edge": edge, "fold": True})
    assert size(piece(file, "half")) == pytest.approx((200.0, 80.0))
    assert [e["edge"] for e in shown(file, "half")["edges"] if e["fold"]] == [edge]
    assert len(piece(file, "half").marks) == 4, "both halves have the drill holes"
    edited(file, {"what": "edge", "piece": "half", "edge": edge, "fold": False})
    assert size(piece(file, "half")) == pytest.approx((100.0, 80.0))
    assert "fold_edge" not in file.text
    bent = next(e["edge"] for e in shown(file, "front")["edges"])
    edited(file, {"what": "edge", "piece": "front", "edge": bent, "fold": True})
    assert size(piece(file, "front")) == pytest.approx((260.0, 380.0))


def _right(edge: dict[str, Any]) -> bool:
    return edge["d"].startswith("M 100")


def test_the_grain_is_turned_by_pointing_and_by_keys(file: JobFile) -> None:
    x, y = centre(piece(file, "front").cut)
    told = turned(file, {"piece": "front", "to": [x + 50, -y - 48]})
    assert told == {"angle": 45.0, "edge": None}
    edited(file, {"what": "turn", "piece": "front", "left": True})
    assert piece(file, "front").grain % 360.0 == 1.0
    edited(file, {"what": "turn", "piece": "front", "left": True, "far": True})
    edited(file, {"what": "turn", "piece": "front"})
    assert piece(file, "front").grain % 360.0 == 225.0
    assert piece(file, "front").up_known
    assert not shown(file, "half")["up"]
    edited(file, {"what": "turn", "piece": "half", "left": False})
    assert not piece(file, "half").up_known, "to turn it says nothing of its ends"
    with pytest.raises(JobError):
        turned(file, {"piece": "front", "to": [1e9, 0.0]})


def test_marks_are_put_moved_said_and_taken_out(file: JobFile) -> None:
    def put(to: list[float], **how: Any) -> None:
        edited(file, {"what": "mark", "piece": "front", "index": None, "to": to, **how})

    put([60.2, -90.4], keys={"kind": "drill", "name": "snap", "size": "4 mm"})
    put([121.0, 3.0], keys={"kind": "notch", "name": ""})
    put([20.0, -20.0], end=[80.0, -20.0], keys={"kind": "line", "name": "loop"})
    put([120.0, -90.0], keys={"kind": "outline", "rectangle": "5 cm x 4 cm"})
    put([30.0, -150.0], keys={"kind": "text", "text": "top"})
    snap, notch, line, patch, text = piece(file, "front").marks
    assert (snap.at, snap.size, snap.name) == ((60.0, 90.0), 4.0, "snap")
    assert notch.at == pytest.approx((121.0, -10.0)), "on the cutting line"
    assert line.path is not None
    assert (line.path.start, line.path.end) == ((20.0, 20.0), (80.0, 20.0))
    assert patch.path is not None
    assert bounds(patch.path) == pytest.approx((95.0, 70.0, 145.0, 110.0))
    assert (text.text, text.at) == ("top", (30.0, 150.0))
    for index, by in enumerate([[5.0, -3.0], [-40.0, 90.0], [1.0, 1.0], [10.0, 0.0], [0.0, 9.0]]):
        edited(file, {"what": "mark", "piece": "front", "index": index, "by": by})
    snap, notch, line, patch, text = piece(file, "front").marks
    assert snap.at == (65.0, 93.0)
    assert notch.at == pytest.approx((81.0, -10.0))
    assert line.path is not None
    assert line.path.start == (21.0, 19.0)
    assert patch.path is not None
    assert bounds(patch.path) == pytest.approx((105.0, 70.0, 155.0, 110.0))
    assert text.at == (30.0, 141.0)
    carriers = {"copies": "1, 2", "hands": ["right"], "materials": ["lining"], "face": "wrong"}
    edited(file, {"what": "mark", "piece": "front", "index": 0, "keys": carriers})
    edited(file, {"what": "unmark", "piece": "front", "index": 1})
    snap, line, *_ = piece(file, "front").marks
    assert (snap.copies, snap.materials, snap.face) == ({1, 2}, {"lining"}, "wrong")
    assert snap.hands == {"right"}
    assert line.name == "loop"
    assert shown(file, "front")["marks"][0]["keys"]["hands"] == ["right"]
    nothing = {"copies": "", "hands": [], "materials": [], "face": "right"}
    edited(file, {"what": "mark", "piece": "front", "index": 0, "keys": nothing})
    (snap, *_) = piece(file, "front").marks
    assert (snap.copies, snap.hands, snap.materials, snap.face) == (None, None, None, "right")
    for index in (3, 2, 1, 0):
        edited(file, {"what": "unmark", "piece": "front", "index": index})
    assert piece(file, "front").marks == ()
    assert "mark" not in tomllib.loads(file.text)["piece"][0]
    assert "# what it is cut from" in file.text


def test_marks_are_put_by_numbers(file: JobFile) -> None:
    def put(**keys: Any) -> None:
        edited(file, {"what": "mark", "piece": "front", "index": None, "keys": keys})

    put(kind="drill", at="3 x 4,5", size="4 mm")
    put(kind="line", name="loop", points=["2 x 2", "8 cm x 20 mm"])
    put(kind="outline", rectangle="5 × 4", from_centre="1 x -1")
    drill, line, patch = piece(file, "front").marks
    assert drill.at == (30.0, 45.0)
    assert line.path is not None
    assert (line.path.start, line.path.end) == ((20.0, 20.0), (80.0, 20.0))
    assert patch.path is not None
    assert bounds(patch.path) == pytest.approx((105.0, 60.0, 155.0, 100.0))
    with pytest.raises(JobError, match="two lengths"):
        put(kind="drill", at="3")


def test_what_is_wrong_of_a_mark_is_said_and_nothing_is_written(file: JobFile) -> None:
    before = file.path.read_bytes()
    for keys, to in (
        ({"kind": "drill"}, [500.0, 0.0]),
        ({"kind": "text", "text": ""}, [60.0, -90.0]),
        ({"kind": "drill", "copies": "first"}, [60.0, -90.0]),
        ({"kind": "spot"}, [60.0, -90.0]),
    ):
        asked = {"what": "mark", "piece": "front", "index": None, "keys": keys, "to": to}
        with pytest.raises(JobError):
            edited(file, asked)
    with pytest.raises(JobError, match="another file"):
        edited(file, {"what": "edge", "piece": "flap", "edge": 1, "fold": True})
    assert file.path.read_bytes() == before


def test_a_mark_of_the_pattern_file_is_left_out_or_taken_into_the_job(file: JobFile) -> None:
    first, second = shown(file, "half")["others"]
    assert (first["number"], second["out"]) == (1, False)
    places = {mark.at for mark in piece(file, "half").marks}
    edited(file, {"what": "mark", "piece": "half", "index": None, "number": 1})
    edited(file, {"what": "left out", "piece": "half", "number": 1, "out": True})
    assert {mark.at for mark in piece(file, "half").marks} == places
    assert piece(file, "half").marks[-1].size == 4.0
    edited(file, {"what": "unmark", "piece": "half", "index": 0})
    assert len(piece(file, "half").marks) == 1
    edited(file, {"what": "left out", "piece": "half", "number": 1, "out": False})
    assert {mark.at for mark in piece(file, "half").marks} == places
    assert "marks_left_out" not in file.text
    with pytest.raises(JobError, match="no mark 9"):
        edited(file, {"what": "left out", "piece": "half", "number": 9, "out": True})


def test_pieces_are_drawn_by_their_sizes(tmp_path: Path) -> None:
    file = JobFile.begun(tmp_path, name="bag", inches=True)
    draw = {"what": "draw", "piece": ""}
    edited(file, {**draw, "kind": "rectangle", "name": "front", "sizes": ["9 1/2", "7"]})
    edited(file, {**draw, "kind": "circle", "name": "base", "sizes": ["20 cm"]})
    strap = {"kind": "strap", "name": "strap", "sizes": ["30", "1"], "allowance": "1/2 in"}
    edited(file, {**draw, **strap})
    assert not file.ready
    told = {row["name"]: row["size"] for row in making(file)["pieces"]}
    assert told == {"front": "9 1/2 × 7 in", "base": "7 7/8 × 7 7/8 in", "strap": "31 × 4 in"}
    before = file.text
    for wrong in (
        {"kind": "circle", "name": "flap", "sizes": [""]},
        {"kind": "circle", "name": "flap", "sizes": ["wide"]},
        {"kind": "circle", "name": "base", "sizes": ["5"]},
        {"kind": "circle", "name": "", "sizes": ["5"]},
        {"kind": "star", "name": "flap", "sizes": ["5"]},
    ):
        with pytest.raises(JobError):
            edited(file, {**draw, **wrong})
    assert file.text == before, "a piece that can't be drawn is not written, ready or not"
