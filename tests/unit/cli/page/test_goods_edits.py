"""Goods that are changed on the page: the job file says the same as before, comments and all."""

from __future__ import annotations

import shutil
import tomllib
from pathlib import Path

import pytest
from thriftlay.page.job_file import JobFile
from thriftlay.page.making import edited, making

from nesting import read_job
from nesting.errors import JobError
from nesting.material.material import Cloth

SAMPLES = Path(__file__).resolve().parents[4] / "sample_markers"
JOBS = ("tool_roll/tool_roll", "rucksack/rucksack_print", "foam/foam", "pouch/pouch")


def job_file(folder: Path, name: str) -> JobFile:
    for file in (SAMPLES / name).parent.glob("*.toml"):
        shutil.copy(file, folder)
    return JobFile(folder / f"{Path(name).name}.toml")


@pytest.fixture
def tool_roll(tmp_path: Path) -> JobFile:
    return job_file(tmp_path, "tool_roll/tool_roll")


def comments(text: str) -> list[str]:
    return [line.partition("#")[2].strip() for line in text.splitlines() if "#" in line]


def cloth_of(file: JobFile, name: str) -> Cloth:
    cloth = read_job(file.path).material(name)
    assert isinstance(cloth, Cloth)
    return cloth


def goods_of(file: JobFile, name: str) -> dict[str, object]:
    return dict(next(g for g in making(file)["goods"] if g["name"] == name))


@pytest.mark.parametrize("name", JOBS)
def test_what_is_sent_back_as_it_was_shown_changes_nothing(tmp_path: Path, name: str) -> None:
    file = job_file(tmp_path, name)
    before = file.path.read_bytes()
    assert making(file)["goods"]
    for goods in making(file)["goods"]:
        edited(file, {"what": "goods", **goods})
        for left in goods["remnants"]:
            if left["plain"]:
                where = {"kind": goods["kind"], "index": goods["index"]}
                edited(file, {"what": "remnant", **where, **left})
    assert file.path.read_bytes() == before


def test_widths_on_sale_are_added_changed_and_taken_out(tool_roll: JobFile) -> None:
    said = comments(tool_roll.text)
    canvas = goods_of(tool_roll, "waxed canvas")
    (first,) = canvas["widths"]  # type: ignore[misc]
    second = {"booked": "54 in", "usable": "52 in", "price": "31,5"}
    edited(tool_roll, {"what": "goods", **canvas, "widths": [first, second]})
    widths = cloth_of(tool_roll, "waxed canvas").widths
    assert [(w.booked, w.price) for w in widths] == [(720.0, 24.5), (1371.6, 31.5)]
    assert widths[1].usable == pytest.approx(1320.8)
    kept = " ".join(comments(tool_roll.text))
    assert [one for one in said if one not in kept] == []
    empty = dict.fromkeys(second, "")
    edited(tool_roll, {"what": "goods", **canvas, "widths": [empty, second]})
    (left,) = cloth_of(tool_roll, "waxed canvas").widths
    assert left.booked == pytest.approx(1371.6)


def test_a_print_is_said_changed_and_taken_out(tool_roll: JobFile) -> None:
    lining = goods_of(tool_roll, "lining")
    told = {"along": "32 cm", "across": "24 cm", "drop": "0,5", "at_along": "8 cm"}
    with pytest.raises(JobError, match="two measures"):
        edited(tool_roll, {"what": "goods", **lining, "print": told})
    told |= {"at_across": "12 cm", "drift": "1 mm"}
    edited(tool_roll, {"what": "goods", **lining, "print": told, "nap": "one-way"})
    printed = cloth_of(tool_roll, "lining").print
    assert printed is not None
    assert (printed.along, printed.across, printed.drop) == (320.0, 240.0, 0.5)
    assert printed.origin == (80.0, 120.0)
    again = goods_of(tool_roll, "lining")
    assert again["print"] == {**told, "drop": "0.5"}
    edited(tool_roll, {"what": "goods", **again, "print": {}})
    assert cloth_of(tool_roll, "lining").print is None


def test_left_overs_come_and_go_and_follow_their_goods(tool_roll: JobFile) -> None:
    where = {"what": "remnant", "kind": "cloth", "index": 1}
    edited(tool_roll, {**where, "name": "rest", "size": "50 cm x 40 cm", "grain": "across"})
    edited(tool_roll, {**where, "name": "bit", "size": "30 cm × 20 cm"})
    with pytest.raises(JobError):
        edited(tool_roll, {**where, "name": "odd", "size": "30 cm"})
    first, second = goods_of(tool_roll, "lining")["remnants"]  # type: ignore[misc]
    edited(tool_roll, {**where, **first, "size": "55 cm x 40 cm"})
    edited(tool_roll, {**where, **second, "what": "unremnant"})
    edited(tool_roll, {"what": "goods", "kind": "cloth", "index": 1, "name": "cotton"})
    (left,) = cloth_of(tool_roll, "cotton").remnants
    assert left.name == "rest"
    assert "[[cloth.remnant]]" in tool_roll.text


def test_remnants_that_name_their_goods_follow_them(tmp_path: Path) -> None:
    path = tmp_path / "bag.toml"
    path.write_text(
        '[job]\nname = "bag"\n[[sheet]]\nname = "foam"\nsize = [500, 400]\n'
        '[[remnant]]\nname = "rest"\nmaterial = "foam"\nrectangle = [200, 100]\n'
        '[[piece]]\nname = "lid"\nrectangle = [100, 50]\n'
        '[[cut]]\npiece = "lid"\nmaterial = "foam"\n'
    )
    file = JobFile(path)
    (left,) = goods_of(file, "foam")["remnants"]  # type: ignore[misc]
    assert (left["place"], left["size"], left["plain"]) == ([False, 0], "200 x 100", True)
    edited(file, {"what": "goods", **goods_of(file, "foam"), "name": "cork", "count": "3"})
    assert tomllib.loads(path.read_text())["remnant"][0]["material"] == "cork"
    edited(file, {"what": "goods", "kind": "sheet", "name": "board", "size": "300 x 200"})
    edited(file, {"what": "ungoods", "kind": "sheet", "index": 1})
    assert "remnant" in tomllib.loads(path.read_text())


def test_what_is_at_hand_is_kept_in_a_stock_file_that_the_job_includes(tool_roll: JobFile) -> None:
    folder = tool_roll.path.parent
    edited(tool_roll, {"what": "at_hand", "name": "lining", "at_hand": "2.4 m, 90 cm x 112 cm"})
    stock = folder / "tool_roll-stock.toml"
    assert tomllib.loads(stock.read_text())["at_hand"] == {
        "lining": ["2.4 m", {"length": "90 cm", "width": "112 cm"}]
    }
    assert tomllib.loads(tool_roll.path.read_text())["include"] == ["pieces.toml", stock.name]
    assert making(tool_roll)["at_hand"] == {"lining": "2.4 m, 90 cm x 112 cm"}
    before = stock.read_bytes(), tool_roll.path.read_bytes()
    with pytest.raises(JobError):
        edited(tool_roll, {"what": "at_hand", "name": "leather", "at_hand": "much"})
    assert (stock.read_bytes(), tool_roll.path.read_bytes()) == before
    edited(tool_roll, {"what": "at_hand", "name": "leather", "at_hand": "2"})
    assert sum(g.at_hand for g in read_job(tool_roll.path).materials if g.name == "leather") == 2  # type: ignore[union-attr]
    edited(tool_roll, {"what": "at_hand", "name": "lining", "at_hand": ""})
    assert making(tool_roll)["at_hand"] == {"leather": "2"}
    assert not [path for path in folder.iterdir() if path.name.startswith(".")]


def test_a_stock_file_that_is_refused_is_not_begun(tool_roll: JobFile) -> None:
    before = tool_roll.path.read_bytes()
    names = {path.name for path in tool_roll.path.parent.iterdir()}
    with pytest.raises(JobError):
        edited(tool_roll, {"what": "at_hand", "name": "lining", "at_hand": "much"})
    assert tool_roll.path.read_bytes() == before
    assert {path.name for path in tool_roll.path.parent.iterdir()} == names


def test_left_overs_of_any_shape_are_shown_and_kept(tmp_path: Path) -> None:
    path = tmp_path / "bag.toml"
    shape = "M 0,0 H 300 L 200,250 L 0,200 Z M 50,50 h 20 v 20 h -20 z"
    (tmp_path / "stock.toml").write_text(
        'unit = "mm"\n[[remnant]]\nname = "shelf 2"\nmaterial = "foam"\n'
        "points = [[0, 0], [400, 0], [0, 300]]\n"
    )
    path.write_text(
        '[job]\nname = "bag"\n[[sheet]]\nname = "foam"\nsize = [500, 400]\n'
        f'[[sheet.remnant]]\nname = "rest"  # by the window\noutline = "{shape}"\n'
        '[[piece]]\nname = "lid"\nrectangle = [100, 50]\n'
        '[[cut]]\npiece = "lid"\nmaterial = "foam"\n'
    )
    text = path.read_text()
    path.write_text(text.replace("[job]\n", 'include = "stock.toml"\n[job]\n'))
    file = JobFile(path)
    assert file.ready, file.trouble
    goods = goods_of(file, "foam")
    (left,) = goods["remnants"]  # type: ignore[misc]
    assert left["plain"] is False
    assert left["drawn"]["box"] == [0.0, -250.0, 300.0, 250.0]
    assert left["drawn"]["size"] == "30 × 25 cm"
    assert left["drawn"]["d"].count("M") == 2, "with its hole"
    (shelf,) = goods["stock"]  # type: ignore[misc]
    assert (shelf["name"], shelf["drawn"]["size"]) == ("shelf 2", "40 × 30 cm")
    change = {"what": "remnant", "kind": "sheet", "index": 0, "place": left["place"]}
    edited(file, {**change, "name": "rest of May", "size": "", "grain": "across"})
    assert shape in file.text
    assert "# by the window" in file.text
    (left,) = goods_of(file, "foam")["remnants"]  # type: ignore[misc]
    assert (left["name"], left["grain"], left["plain"]) == ("rest of May", "across", False)
    job = file.job
    assert job is not None
    goods_read = job.material("foam")
    assert goods_read is not None
    assert [one.name for one in goods_read.remnants] == ["rest of May", "shelf 2"]
    edited(file, {"what": "unremnant", "kind": "sheet", "index": 0, "place": left["place"]})
    assert goods_of(file, "foam")["remnants"] == []


def test_a_left_over_of_leather_is_added_where_the_file_has_such(tmp_path: Path) -> None:
    path = tmp_path / "purse.toml"
    path.write_text(
        '[job]\nname = "purse"\n[[leather]]\nname = "calf"\n'
        '[[piece]]\nname = "lid"\nrectangle = [100, 50]\n'
        '[[cut]]\npiece = "lid"\nmaterial = "calf"\n'
    )
    file = JobFile(path)
    asked = {"what": "remnant", "kind": "leather", "index": 0, "place": None, "name": "rest"}
    edited(file, {**asked, "size": "30 cm x 20 cm", "grain": ""})
    assert file.ready, file.trouble
    (left,) = goods_of(file, "calf")["remnants"]  # type: ignore[misc]
    assert (left["name"], left["size"], left["plain"]) == ("rest", "30 cm x 20 cm", True)
