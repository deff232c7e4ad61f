"""A job file that is changed on the page: comments stay, nothing is spoilt or overwritten."""

from __future__ import annotations

import shutil
import tomllib
from itertools import pairwise
from pathlib import Path

import pytest
import tomlkit
from thriftlay.page.app import Page
from thriftlay.page.disk.keeping import StaleError
from thriftlay.page.job_file import JobFile
from thriftlay.page.making import edited, kept_file, making

from nesting import read_job
from nesting.errors import JobError

SAMPLES = Path(__file__).resolve().parents[4] / "sample_markers"
STARTER = SAMPLES / "starters" / "starter_a4_mm.svg"


@pytest.fixture
def tool_roll(tmp_path: Path) -> JobFile:
    for file in (SAMPLES / "tool_roll").glob("*.toml"):
        shutil.copy(file, tmp_path)
    return JobFile(tmp_path / "tool_roll.toml")


def comments(text: str) -> list[str]:
    return [line.strip() for line in text.splitlines() if line.strip().startswith("#")]


def test_a_change_leaves_comments_and_order_as_they_are(tool_roll: JobFile) -> None:
    before = tool_roll.text
    assert comments(before)
    told = making(tool_roll)
    cloth = next(g for g in told["goods"] if g["kind"] == "cloth" and len(g["widths"]) == 1)
    edited(
        tool_roll, {"what": "goods", **cloth, "widths": [{**cloth["widths"][0], "price": "21,50"}]}
    )
    document = tomlkit.parse(before)
    alone = next(c for c in document["cut"] if isinstance(c["material"], str))  # type: ignore[union-attr]
    cut = next(c for c in told["cuts"] if c["piece"] == alone["piece"])
    edited(tool_roll, {"what": "cut", **cut, "copies": cut["copies"] + 1})
    after = tool_roll.path.read_text(encoding="utf-8")
    assert after == tool_roll.text
    assert comments(after) == comments(before)
    assert [line for line in after.splitlines() if line.startswith("[")] == [
        line for line in before.splitlines() if line.startswith("[")
    ]
    changed = set(after.splitlines()) ^ set(before.splitlines())
    assert len(changed) <= 4, changed
    job = read_job(tool_roll.path)
    goods = job.material(cloth["name"])
    assert goods is not None
    assert goods.widths[0].price == 21.5  # type: ignore[attr-defined]


def test_a_line_of_several_goods_is_parted_where_one_of_them_differs(tool_roll: JobFile) -> None:
    document = tomlkit.parse(tool_roll.text)
    several = [c for c in document["cut"] if isinstance(c["material"], list)]  # type: ignore[union-attr]
    piece, (first, *others) = several[0]["piece"], several[0]["material"]

    def copies() -> dict[str, int]:
        cuts = read_job(tool_roll.path).bags[0].cuts
        return {c.material: c.copies for c in cuts if c.piece == piece}

    before = copies()
    edited(tool_roll, {"what": "cut", "piece": piece, "material": first, "copies": 5})
    assert copies() == before | {first: 5}
    edited(tool_roll, {"what": "cut", "piece": piece, "material": others[0], "copies": 0})
    assert copies() == {name: n for name, n in (before | {first: 5}).items() if name != others[0]}


def test_goods_are_renamed_and_taken_out_where_they_stand_with_others(tool_roll: JobFile) -> None:
    def materials(piece: str) -> list[str]:
        cuts = read_job(tool_roll.path).bags[0].cuts
        return sorted(cut.material for cut in cuts if cut.piece == piece)

    lining = next(g for g in making(tool_roll)["goods"] if g["name"] == "lining")
    edited(tool_roll, {"what": "goods", **lining, "name": "cotton"})
    assert materials("body") == ["cotton", "waxed canvas"]
    assert materials("pen pocket") == ["cotton"]
    edited(tool_roll, {"what": "ungoods", "kind": "cloth", "index": lining["index"]})
    assert materials("body") == ["waxed canvas"]
    assert materials("pen pocket") == []


def test_a_job_that_can_be_laid_stays_one(tool_roll: JobFile) -> None:
    before = tool_roll.path.read_bytes()
    cloth = next(g for g in making(tool_roll)["goods"] if g["kind"] == "cloth")
    for spoilt in (
        {"widths": [{**cloth["widths"][0], "booked": "wide"}]},
        {"widths": [{**cloth["widths"][0], "price": "-1"}]},
        {"widths": [{**cloth["widths"][0], "price": "dear"}]},
        {"widths": []},
        {"print": {"along": "far"}},
        {"name": ""},
        {"nap": "sideways"},
    ):
        with pytest.raises(JobError):
            edited(tool_roll, {"what": "goods", **cloth, **spoilt})
    with pytest.raises(JobError, match="can't be changed"):
        edited(tool_roll, {"what": "include"})
    assert tool_roll.path.read_bytes() == before
    assert not [path for path in tool_roll.path.parent.iterdir() if path.name.startswith(".")]


def test_what_another_program_wrote_is_not_overwritten(tool_roll: JobFile) -> None:
    theirs = tool_roll.text.replace("[job]", "# mine\n[job]", 1)
    tool_roll.path.write_text(theirs, encoding="utf-8")
    cut = making(tool_roll)["cuts"][0]
    with pytest.raises(JobError, match="another program"):
        edited(tool_roll, {"what": "cut", **cut, "copies": 7})
    assert tool_roll.path.read_text(encoding="utf-8") == theirs
    edited(tool_roll, {"what": "cut", **cut, "copies": 7})
    assert "# mine" in tool_roll.path.read_text(encoding="utf-8")


def test_a_change_is_undone_and_done_again_byte_for_byte(tmp_path: Path) -> None:
    path = tmp_path / "bag.toml"
    first = b'\xef\xbb\xbf# mine\r\n[job]\r\nname = "Bag"\r\n'
    path.write_bytes(first)
    file = JobFile(path)
    marks = [file.mark]
    for bags in range(2, 40):
        marks.append(edited(file, {"what": "job", "name": "Bag", "bags": bags}, seen=marks[-1]))
    last = path.read_bytes()
    for now, was in zip(marks[:0:-1], marks[-2::-1], strict=True):
        assert file.back(was, seen=now) == was
    assert path.read_bytes() == first
    assert making(file)["bags"] == 1
    for was, now in pairwise(marks):
        assert file.back(now, seen=was) == now
    assert path.read_bytes() == last


def test_what_others_changed_meanwhile_is_not_undone(tool_roll: JobFile) -> None:
    was = tool_roll.mark
    mine = edited(tool_roll, {"what": "job", "name": "Mine"}, seen=was)
    other = edited(tool_roll, {"what": "job", "name": "Other tab"}, seen=mine)
    with pytest.raises(StaleError, match="changed elsewhere"):
        tool_roll.back(was, seen=mine)
    hand = tool_roll.path.read_text() + "# by hand\n"
    tool_roll.path.write_text(hand)
    with pytest.raises(StaleError, match="changed elsewhere"):
        tool_roll.back(mine, seen=other)
    assert tool_roll.path.read_text() == hand
    with pytest.raises(JobError, match="not known any more"):
        tool_roll.back("0" * 64, seen=tool_roll.mark)
    assert tool_roll.path.read_text() == hand


def test_a_job_that_could_not_be_laid_is_so_again(tmp_path: Path) -> None:
    path = tmp_path / "bag.toml"
    piece = '[[piece]]\nname = "side"\nrectangle = [20, 10]\n'
    cloth = '[[cloth]]\nname = "canvas"\nwidth = 140\n'
    path.write_text(f'[job]\nname = "Bag"\nunit = "cm"\n{cloth}{piece}')
    file = JobFile(path)
    was = file.mark
    assert not file.ready
    body = {"what": "cut", "piece": "side", "material": "canvas", "copies": 2}
    now = edited(file, body, seen=was)
    assert file.ready
    file.back(was, seen=now)
    assert not file.ready
    assert file.trouble


def test_from_a_dropped_file_to_a_job(tmp_path: Path) -> None:
    page = Page(tmp_path)
    read = page.drop("starter.svg", STARTER.read_bytes())["read"]
    assert read["trouble"] == ""
    file = page.made()
    assert not file.ready
    told = making(file)
    assert "mm" in told["files"][0]["said"]
    assert [piece["name"] for piece in told["pieces"]] == ["Front", "Pocket"]
    assert told["pieces"][0]["size"] == "17 × 13 cm"
    assert told["pieces"][0]["drawn"]["box"][2:] == pytest.approx([170.0, 130.0])
    edited(file, {"what": "goods", "kind": "cloth", "name": "canvas", "width": "145 cm"})
    edited(file, {"what": "goods", "kind": "sheet", "name": "foam", "size": "50 cm x 40 cm"})
    edited(file, {"what": "cut", "piece": "Front", "material": "canvas", "copies": 2})
    edited(
        file, {"what": "cut", "piece": "Pocket", "material": "foam", "copies": 1, "hand": "pairs"}
    )
    edited(file, {"what": "piece", "piece": "Front", "grain": "30", "up": False})
    assert file.ready, file.trouble
    job = read_job(file.path)
    assert [(c.piece, c.material, c.copies, c.pairs) for c in job.bags[0].cuts] == [
        ("Front", "canvas", 2, False),
        ("Pocket", "foam", 1, True),
    ]
    front = job.bags[0].pieces[0]
    assert (front.grain % 360.0, front.up_known) == (30.0, False)
    edited(file, {"what": "cut", "piece": "Pocket", "material": "foam", "copies": 0})
    edited(file, {"what": "ungoods", "kind": "sheet", "index": 0})
    document = tomlkit.parse(file.text)
    assert "sheet" not in document
    assert len(document["cut"]) == 1  # type: ignore[arg-type]
    again = page.drop("another name.svg", STARTER.read_bytes())["read"]
    assert again["file"] == "starter.svg", "the same file is not kept twice"
    assert len(making(file)["pieces"]) == 2


def test_a_file_whose_unit_is_unsure_is_asked_about(tmp_path: Path) -> None:
    page = Page(tmp_path)
    bare = (
        '<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 300 300">'
        '<path id="flap" d="M 10 10 h 200 v 80 h -200 z"/></svg>'
    )
    read = page.drop("flap.svg", bare.encode())["read"]
    assert "does not say its unit" in read["trouble"]
    assert making(page.made())["pieces"] == []


@pytest.mark.parametrize(
    ("name", "data"),
    [
        ("virus.exe", b"MZ"),
        ("pattern", b"x"),
        ("empty.dxf", b""),
        ("a.html", b"<script>"),
        (".toml", b""),
    ],
)
def test_what_is_no_pattern_is_refused_and_not_kept(tmp_path: Path, name: str, data: bytes) -> None:
    with pytest.raises(JobError):
        kept_file(tmp_path, name, data)
    assert list(tmp_path.iterdir()) == []


@pytest.mark.parametrize("name", ["../../evil.svg", "/etc/evil.svg", "a\\..\\evil.svg", "..svg"])
def test_a_dropped_file_lies_in_the_folder_whatever_it_is_called(tmp_path: Path, name: str) -> None:
    folder = tmp_path / "work"
    folder.mkdir()
    path = kept_file(folder, name, b"<svg/>")
    assert path.parent == folder
    assert [p.name for p in tmp_path.iterdir()] == ["work"]
    other = kept_file(folder, name, b"<svg></svg>")
    assert other != path
    assert path.read_bytes() == b"<svg/>"


@pytest.mark.parametrize("data", [b"<svg", b"%PDF-1.4\n", b"\0" * 500, b"0\nSECTION\n" * 50])
def test_a_hostile_pattern_is_said_to_be_so_and_takes_nothing(tmp_path: Path, data: bytes) -> None:
    page = Page(tmp_path)
    read = page.drop("odd.dxf", data)["read"]
    assert read["trouble"]
    assert making(page.made())["pieces"] == []


@pytest.mark.parametrize(
    ("starter", "unit"),
    [("a4_mm.pdf", "cm"), ("letter_inch.pdf", "in"), ("letter_inch.dxf", "in")],
)
def test_a_job_that_begins_with_a_pattern_in_inches_is_in_inches(
    tmp_path: Path, starter: str, unit: str
) -> None:
    page = Page(tmp_path)
    file = STARTER.with_name(f"starter_{starter}")
    page.drop(file.name, file.read_bytes())
    assert tomllib.loads(page.made().path.read_text(encoding="utf-8"))["job"]["unit"] == unit
    page.drop("more.pdf", STARTER.with_name("starter_a4_mm.pdf").read_bytes())
    assert tomllib.loads(page.made().path.read_text(encoding="utf-8"))["job"]["unit"] == unit
