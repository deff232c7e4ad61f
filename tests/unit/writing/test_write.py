from __future__ import annotations

import errno
from dataclasses import replace
from pathlib import Path

import ezdxf
import pytest

from nesting.errors import WriteError
from nesting.planning.plan import Plan
from nesting.planning.plan_file import load_plan
from nesting.writing.folder import ready_folder
from nesting.writing.write import KINDS, write_plan

QUICK = ("dxf", "svg")


def overlapping(plan: Plan) -> Plan:
    """Return the plan with two parts of its first marker in one place."""
    first, *rest = plan.entries
    a, b, *others = first.marker.placements
    marker = replace(first.marker, placements=(a, replace(b, x=a.x, y=a.y), *others))
    return replace(plan, entries=(replace(first, marker=marker), *rest))


def test_every_file_is_written(hand_laid_plan: Plan, tmp_path: Path) -> None:
    files = write_plan(hand_laid_plan, tmp_path / "new" / "out")
    names = [file.name for file in files]
    assert names[0] == "plan.json"
    assert set(names) == {
        "plan.json",
        "remnants.toml",
        "report.html",
        *(f"{n}.{k}" for n in ("Waxed-canvas", "Lining-printed", "Bridle-leather") for k in QUICK),
        *(f"Foam-{i}-of-2.{k}" for i in (1, 2) for k in QUICK),
        *(f"{n}.png" for n in ("Waxed-canvas", "Lining-printed", "Bridle-leather", "Foam")),
    }
    assert sorted(files) == sorted((tmp_path / "new" / "out").iterdir())
    assert load_plan(files[0]) == hand_laid_plan


def test_only_the_kinds_asked_for(hand_laid_plan: Plan, tmp_path: Path) -> None:
    files = write_plan(hand_laid_plan, tmp_path, kinds=("report",))
    assert [file.name for file in files] == ["plan.json", "report.html"]
    with pytest.raises(WriteError, match="no kind of file"):
        write_plan(hand_laid_plan, tmp_path / "b", kinds=("docx",))
    assert not (tmp_path / "b").exists()


def test_files_are_replaced_only_when_asked(hand_laid_plan: Plan, tmp_path: Path) -> None:
    write_plan(hand_laid_plan, tmp_path, kinds=QUICK)
    with pytest.raises(WriteError, match="exists already"):
        write_plan(hand_laid_plan, tmp_path, kinds=QUICK)
    before = (tmp_path / "Foam-1-of-2.svg").stat().st_mtime_ns
    write_plan(hand_laid_plan, tmp_path, kinds=QUICK, overwrite=True)
    assert (tmp_path / "Foam-1-of-2.svg").stat().st_mtime_ns != before
    write_plan(hand_laid_plan, tmp_path, kinds=("report",))  # more files of the same plan


def test_another_plan_is_kept_unless_asked(hand_laid_plan: Plan, tmp_path: Path) -> None:
    write_plan(hand_laid_plan, tmp_path, kinds=QUICK)
    other = replace(hand_laid_plan, entries=hand_laid_plan.entries[:1], seconds=1.0)
    with pytest.raises(WriteError, match="holds another plan"):
        write_plan(other, tmp_path, kinds=("report",))
    with pytest.raises(WriteError, match="holds another plan"):
        ready_folder(tmp_path)
    assert load_plan(tmp_path / "plan.json") == hand_laid_plan
    (tmp_path / "notes.txt").write_text("mine")
    write_plan(other, tmp_path, kinds=QUICK, overwrite=True)
    # Nobody can cut from the old plan's files any more; what isn't ours stays.
    assert {path.name for path in tmp_path.iterdir()} == {
        "plan.json",
        "Waxed-canvas.dxf",
        "Waxed-canvas.svg",
        "notes.txt",
    }


def test_a_marker_with_faults_is_left_out(hand_laid_plan: Plan, tmp_path: Path) -> None:
    bad = overlapping(hand_laid_plan)
    assert bad.entries[0].findings == (), "the stored findings know nothing of it"
    files = write_plan(bad, tmp_path)
    names = {file.name for file in files}
    assert not any(name.startswith("Waxed") for name in names)
    assert {"plan.json", "report.html", "Foam.png", "Bridle-leather.dxf"} <= names
    assert "Do not cut" in (tmp_path / "report.html").read_text()
    assert load_plan(tmp_path / "plan.json").entries[0].findings


def test_who_insists_gets_files_that_say_so(hand_laid_plan: Plan, tmp_path: Path) -> None:
    write_plan(overlapping(hand_laid_plan), tmp_path, kinds=("dxf", "svg"), insist=True)
    assert "DO NOT CUT" in (tmp_path / "Waxed-canvas.svg").read_text()
    texts = ezdxf.readfile(tmp_path / "Waxed-canvas.dxf").modelspace().query("TEXT")
    assert any("DO NOT CUT" in text.dxf.text for text in texts)
    assert "DO NOT CUT" not in (tmp_path / "Foam-1-of-2.svg").read_text()


def test_an_incomplete_marker_says_what_is_missing(hand_laid_plan: Plan, tmp_path: Path) -> None:
    first, *rest = hand_laid_plan.entries
    marker = replace(first.marker, placements=first.marker.placements[:-1])
    lost = first.marker.lay.parts[-1].name
    short = replace(first, marker=marker, unplaced=((lost, "no room"),))
    plan = replace(hand_laid_plan, entries=(short, *rest))
    write_plan(plan, tmp_path, kinds=("svg",), insist=True)
    assert f"INCOMPLETE: not laid: {lost}" in (tmp_path / "Waxed-canvas.svg").read_text()


def test_nothing_is_half_written(
    hand_laid_plan: Plan, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def full(*_: object, **__: object) -> None:
        raise OSError(errno.ENOSPC, "No space left on device")

    monkeypatch.setattr("nesting.writing.write.write_svg", full)
    with pytest.raises(WriteError, match="no space left"):
        write_plan(hand_laid_plan, tmp_path / "new", kinds=QUICK)
    assert not (tmp_path / "new").exists()
    (tmp_path / "old").mkdir()
    (tmp_path / "old" / "mine.txt").write_text("x")
    with pytest.raises(WriteError):
        write_plan(hand_laid_plan, tmp_path / "old", kinds=QUICK)
    assert [path.name for path in (tmp_path / "old").iterdir()] == ["mine.txt"]


def test_a_folder_that_is_a_file_is_refused(hand_laid_plan: Plan, tmp_path: Path) -> None:
    (tmp_path / "file").write_text("x")
    with pytest.raises(WriteError):
        ready_folder(tmp_path / "file")
    with pytest.raises(WriteError):
        write_plan(hand_laid_plan, tmp_path / "file", kinds=QUICK)


def test_a_folder_that_cannot_be_written_is_refused(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def forbidden(*_: object, **__: object) -> None:
        raise PermissionError(errno.EACCES, "Permission denied")

    monkeypatch.setattr(Path, "mkdir", forbidden)  # to root everything is permitted
    with pytest.raises(WriteError, match="permission denied"):
        ready_folder(tmp_path)


def test_a_ready_folder_is_made_and_left_empty(tmp_path: Path) -> None:
    folder = ready_folder(tmp_path / "a" / "b")
    assert list(folder.iterdir()) == []


def test_names_of_materials_and_sheets_never_clash(hand_laid_plan: Plan, tmp_path: Path) -> None:
    foam, leather = hand_laid_plan.entries[2:]
    material = replace(leather.material, name="Foam 1 of 2")
    lay = replace(leather.marker.lay, name="Foam 1 of 2")
    leather = replace(leather, material=material, marker=replace(leather.marker, lay=lay))
    for entries in ((foam, leather), (leather, foam)):
        job = replace(hand_laid_plan.job, materials=tuple(e.material for e in entries))
        plan = replace(hand_laid_plan, job=job, entries=entries)
        files = write_plan(plan, tmp_path / entries[0].material.name, kinds=("svg",))
        assert len({file.name.casefold() for file in files}) == len(files) == 4


def test_kinds_are_what_the_module_says() -> None:
    assert KINDS == ("dxf", "svg", "png", "report", "remnants")


def test_a_plan_with_nothing_laid_is_still_reported(hand_laid_plan: Plan, tmp_path: Path) -> None:
    entries = tuple(
        replace(
            entry,
            marker=replace(entry.marker, placements=(), sheets=()),
            unplaced=tuple((part.name, "no room") for part in entry.marker.lay.parts),
        )
        for entry in hand_laid_plan.entries
    )
    files = write_plan(replace(hand_laid_plan, entries=entries), tmp_path, insist=True)
    assert [file.name for file in files] == ["plan.json", "report.html"]
    assert "no room" in files[1].read_text()


def test_each_file_is_told_before_it_is_written(hand_laid_plan: Plan, tmp_path: Path) -> None:
    told: list[tuple[str, int, int]] = []
    files = write_plan(hand_laid_plan, tmp_path / "out", tell=lambda *what: told.append(what))
    assert told == [(file.name, i, len(files)) for i, file in enumerate(files, start=1)]
