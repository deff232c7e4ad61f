"""Points of a piece's outline and its fold-back line on the page: what stands in the file then."""

from __future__ import annotations

import tomllib
from pathlib import Path
from typing import Any

import pytest
from thriftlay.page.at_piece import at_piece
from thriftlay.page.job_file import JobFile
from thriftlay.page.making import edited

from nesting import read_job
from nesting.errors import JobError
from nesting.pattern.measure import area, bounds
from nesting.pattern.piece import Piece
from nesting.pattern.shapes import circle
from nesting.planning.lay.lays import lays

TEXT = """# mine
[job]
name = "bag"
unit = "cm"

[[piece]]  # the front
name = "front"
rectangle = [24, 18]  # as I like it
at = [1, 2]
seam_allowance = { all = "1 cm", top = "25 mm" }  # a hem
line = "sewing"
grain = 0

[[piece.mark]]
kind = "notch"
edge = 4
along = "9 cm"

[[piece.mark]]
kind = "drill"
edge = "top"
in = "2 cm"

[[piece]]
name = "flap"
points = [
  [0, 0],          # here it begins
  ["20 cm", 0],
  [20, 10],        # and here
  [0, 10],
]

[[piece]]
name = "side"
outline = "M 0,0 H 8 C 8,6 6,8 4,8 C 2,8 0,6 0,0 Z M 3,2 h 2 v 2 h -2 z"
path_unit = "cm"

[[piece]]
name = "base"
circle = 20

[[cloth]]
name = "canvas"
width = 140

[[cut]]
piece = ["front", "flap", "side", "base"]
material = "canvas"
"""


@pytest.fixture
def file(tmp_path: Path) -> JobFile:
    text = TEXT.replace(
        'piece = ["front", "flap", "side", "base"]\nmaterial = "canvas"\n',
        "\n[[cut]]\n".join(f'piece = "{n}"\nmaterial = "canvas"\n' for n in NAMES),
    )
    (tmp_path / "bag.toml").write_text(text, encoding="utf-8")
    file = JobFile(tmp_path / "bag.toml")
    assert file.ready, file.trouble
    return file


NAMES = ("front", "flap", "side", "base")


def piece(file: JobFile, name: str) -> Piece:
    return next(p for p in read_job(file.path).bags[0].pieces if p.name == name)


def table(file: JobFile, name: str) -> dict[str, Any]:
    return next(one for one in tomllib.loads(file.text)["piece"] if one["name"] == name)


def shown(file: JobFile, name: str) -> dict[str, Any]:
    return at_piece(file, {"piece": name})


def point(file: JobFile, name: str, **how: Any) -> None:
    edited(file, {"what": "point", "piece": name, **how})


def test_a_rectangle_whose_corner_is_moved_has_corners_and_its_edges_keep_what_is_said(
    file: JobFile,
) -> None:
    before = [e["allowance"] for e in shown(file, "front")["edges"]]
    assert [p["place"] for p in shown(file, "front")["points"]][2] == "25 cm x 20 cm"
    point(file, "front", index=2, by=[-30.2, -0.4])  # of the page: y downwards
    held = table(file, "front")
    assert held["points"] == [[0, 0], [24, 0], [21, 18], [0, 18]]
    assert held["at"] == [1, 2]
    assert "rectangle" not in held
    assert held["seam_allowance"] == {"all": "1 cm", "3": "25 mm"}
    assert [m["edge"] for m in held["mark"]] == [4, "top"]
    assert [e["allowance"] for e in shown(file, "front")["edges"]] == before
    for comment in ("# mine", "# the front", "# as I like it", "# a hem"):
        assert comment in file.text
    # A point that is pulled out of the lower edge: those behind it are numbered on.
    point(file, "front", index=None, at=[130.0, -20.0], to=[130.4, 39.8])
    held = table(file, "front")
    assert held["points"] == [[0, 0], [12, -6], [24, 0], [21, 18], [0, 18]]
    assert held["seam_allowance"] == {"all": "1 cm", "4": "25 mm"}
    assert held["mark"][0]["edge"] == 5
    assert piece(file, "front").marks[0].at == pytest.approx((0.0, 110.0))
    point(file, "front", index=1, out=True)
    assert table(file, "front")["seam_allowance"] == {"all": "1 cm", "3": "25 mm"}
    assert len(shown(file, "front")["points"]) == 4
    with pytest.raises(JobError, match="notch lies on an edge that would be gone"):
        point(file, "front", index=3, out=True)


def test_of_corners_only_the_one_that_is_moved_is_written_anew(file: JobFile) -> None:
    point(file, "flap", index=2, place="22 x 9,5")
    assert table(file, "flap")["points"] == [[0, 0], ["20 cm", 0], [22, 9.5], [0, 10]]
    point(file, "flap", index=None, at=[100.0, 0.0])
    assert table(file, "flap")["points"] == [[0, 0], [10, 0], ["20 cm", 0], [22, 9.5], [0, 10]]
    point(file, "flap", index=3, out=True)
    assert table(file, "flap")["points"] == [[0, 0], [10, 0], ["20 cm", 0], [0, 10]]
    assert "# here it begins" in file.text
    assert bounds(piece(file, "flap").cut) == pytest.approx((0.0, 0.0, 200.0, 100.0))
    for place in ("22", "far x 3", ""):
        with pytest.raises(JobError):
            point(file, "flap", index=1, place=place)
    with pytest.raises(JobError, match=r"crosses|touches"):
        point(file, "flap", index=1, place="10 x 30")


def test_path_data_stays_path_data_in_its_unit_with_its_curves_and_cut_outs(file: JobFile) -> None:
    before = piece(file, "side")
    point(file, "side", index=2, by=[0.0, -10.0])
    held = table(file, "side")
    assert held["path_unit"] == "cm"
    assert held["outline"].startswith("M 0,0 L 8,0 C 8,6 6,9 4,9 C 2,9 0,6 0,0 Z M 3,2")
    after = piece(file, "side")
    assert after.holes == before.holes
    assert bounds(after.cut) == pytest.approx((0.0, 0.0, 80.0, 90.0))
    point(file, "base", index=None, at=[0.0, -100.0])
    assert area(piece(file, "base").cut) == pytest.approx(area(circle(200.0)), rel=1e-6)
    assert "circle" not in table(file, "base")


def test_where_it_is_folded_back_is_said_moved_turned_and_taken_out(file: JobFile) -> None:
    assert shown(file, "flap")["back"] is None
    edited(file, {"what": "fold back", "piece": "flap", "do": "add"})
    assert table(file, "flap")["fold_back"] == [["0 mm", "5 cm"], ["20 cm", "5 cm"]]
    back = shown(file, "flap")["back"]
    assert [end["place"] for end in back["ends"]] == ["0 mm x 5 cm", "20 cm x 5 cm"]
    (_, below), (_, above) = back["out"]
    assert above < below, "what is left out lies above (the page's y runs downwards)"
    edited(file, {"what": "fold back", "piece": "flap", "do": "move", "end": 1, "by": [0, -10.3]})
    edited(file, {"what": "fold back", "piece": "flap", "do": "move", "end": 0, "place": "0 x 4"})
    assert piece(file, "flap").fold_back == ((0.0, 40.0), (200.0, 60.0))
    asked = {"what": "cut", "piece": "flap", "material": "canvas", "copies": 1}
    edited(file, {**asked, "ways": {"folded_back": True}})
    (lay,) = lays(read_job(file.path))
    (part,) = (p for p in lay.parts if p.piece.name.startswith("flap"))
    assert area(part.piece.cut) == pytest.approx(200.0 * 50.0)
    edited(file, {"what": "fold back", "piece": "flap", "do": "turn"})
    assert piece(file, "flap").fold_back == ((200.0, 60.0), (0.0, 40.0))
    with pytest.raises(JobError, match="no fold-back line"):
        edited(file, {"what": "fold back", "piece": "flap", "do": "out"})
    edited(file, {**asked, "ways": {}})
    edited(file, {"what": "fold back", "piece": "flap", "do": "out"})
    assert "fold_back" not in file.text


def test_a_fold_back_line_beside_the_piece_is_shown_with_what_is_wrong(file: JobFile) -> None:
    edited(file, {"what": "fold back", "piece": "flap", "do": "add"})
    for end, place in enumerate(("0 x 30", "20 x 30")):
        edited(
            file, {"what": "fold back", "piece": "flap", "do": "move", "end": end, "place": place}
        )
    back = shown(file, "flap")["back"]
    assert back["d"] == ""
    assert back["said"]
