from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest

from nesting.errors import JobError, MachineError, WriteError
from nesting.planning.plan import Plan
from nesting.writing.machines.files import cut_plan
from nesting.writing.machines.formats import Format
from nesting.writing.machines.machine import Kind, Machine, Tool
from nesting.writing.neutral.drawing import Operation

TABLE = Machine(
    name="invented",
    kind=Kind.STRAIGHT_KNIFE,
    reads=tuple(Format),
    bed_length=5000.0,
    bed_width=2000.0,
    long_coordinates=True,
    tools=tuple(
        Tool(operation=op, name="knife", layer=f"{i}", pen=i, colour=f"#0000{i}{i}")
        for i, op in enumerate((Operation.MARK, Operation.TEXT, Operation.NOTCH, Operation.CUT), 1)
    ),
)
QUICK = {"rounds": 0}


def names(folder: Path) -> set[str]:
    return {file.name for file in folder.iterdir()} if folder.exists() else set()


def test_every_load_has_its_file_and_sheet(hand_laid_plan: Plan, tmp_path: Path) -> None:
    made = cut_plan(hand_laid_plan, TABLE, tmp_path / "new" / "cut", **QUICK)
    stems = {"Waxed-canvas", "Lining-printed", "Bridle-leather", "Foam-1-of-2", "Foam-2-of-2"}
    assert names(tmp_path / "new" / "cut") == {f"{s}.{k}" for s in stems for k in ("dxf", "txt")}
    assert len(made.files) == 10
    assert len(made.loads) == 5


def test_nothing_is_written_if_one_marker_can_not_be_cut(
    hand_laid_plan: Plan, tmp_path: Path
) -> None:
    """The sheets of foam fit this bed, the canvas does not: a half-cut plan helps nobody."""
    small = replace(TABLE, bed_length=650.0, bed_width=650.0)
    with pytest.raises(
        MachineError, match=r"(canvas|printed|leather): the marker is .* mm (wide|long)"
    ):
        cut_plan(hand_laid_plan, small, tmp_path / "cut", **QUICK)
    assert not (tmp_path / "cut").exists()
    made = cut_plan(hand_laid_plan, small, tmp_path / "cut", materials=["Foam"], **QUICK)
    assert {file.stem for file in made.files} == {"Foam-1-of-2", "Foam-2-of-2"}


def test_a_material_that_is_not_there(hand_laid_plan: Plan, tmp_path: Path) -> None:
    with pytest.raises(JobError, match='no material is named "Foan"'):
        cut_plan(hand_laid_plan, TABLE, tmp_path, materials=["Foan"], **QUICK)


def test_formats_side_by_side(hand_laid_plan: Plan, tmp_path: Path) -> None:
    made = cut_plan(
        hand_laid_plan, TABLE, tmp_path, materials=["Foam"], forms=tuple(Format), **QUICK
    )
    files = ("{}-r12.dxf", "{}.dxf", "{}.svg", "{}.plt")
    stems = ("Foam-1-of-2", "Foam-2-of-2")
    assert names(tmp_path) == {f.format(s) + t for f in files for s in stems for t in ("", ".txt")}
    # Text is drawn in SVG and HP-GL: two preparations of two sheets do for four formats.
    assert len(made.loads) == 4
    only = replace(TABLE, reads=(Format.DXF,))
    with pytest.raises(MachineError, match="does not read svg"):
        cut_plan(hand_laid_plan, only, tmp_path / "x", forms=[Format.SVG], **QUICK)


def test_old_loads_go_and_what_is_not_ours_stays(hand_laid_plan: Plan, tmp_path: Path) -> None:
    cut_plan(hand_laid_plan, TABLE, tmp_path, materials=["Foam"], **QUICK)
    old = {"Foam-1-of-3.dxf", "Foam-1-of-3.txt", "Foam-3-of-3.plt", "Foam-3-of-3.plt.txt"}
    mine = {"Foam-notes.txt", "Foam-1-of-4.dxf", "Bridle-leather-1-of-2.dxf", "Foam.svg"}
    for name in old | mine:
        (tmp_path / name).write_text("old")
    with pytest.raises(WriteError, match="exists"):
        cut_plan(hand_laid_plan, TABLE, tmp_path, materials=["Foam"], **QUICK)
    assert old | mine < names(tmp_path)
    cut_plan(hand_laid_plan, TABLE, tmp_path, materials=["Foam"], overwrite=True, **QUICK)
    now = {f"Foam-{i}-of-2.{k}" for i in (1, 2) for k in ("dxf", "txt")}
    assert names(tmp_path) == now | mine


@pytest.mark.parametrize("form", list(Format))
def test_a_marker_with_faults_is_written_if_one_insists_and_its_files_say_so(
    hand_laid_plan: Plan, tmp_path: Path, form: Format
) -> None:
    entry = next(e for e in hand_laid_plan.entries if e.material.name == "Foam")
    first, *others = entry.marker.placements
    beside = replace(entry.marker, placements=(replace(first, x=first.x - 5.0), *others))
    entries = [replace(e, marker=beside) if e is entry else e for e in hand_laid_plan.entries]
    spoilt = replace(hand_laid_plan, entries=tuple(entries))
    how = {"materials": ["Foam"], "forms": [form], "overwrite": True, **QUICK}
    cut_plan(hand_laid_plan, TABLE, tmp_path, **how)
    good = names(tmp_path)
    assert not any("not-good" in name for name in good)
    with pytest.raises(MachineError, match="marker of Foam is not good"):
        cut_plan(spoilt, TABLE, tmp_path, **how)
    assert names(tmp_path) == good
    made = cut_plan(spoilt, TABLE, tmp_path, insist=True, **how)
    written = names(tmp_path)
    assert written.isdisjoint(good), "the good ones are of a marker that is no more"
    assert all("-not-good-" in name for name in written)
    sheets = [file.read_text() for file in tmp_path.glob("*.txt")]
    assert len(sheets) == 2
    for sheet in sheets:
        assert "DO NOT CUT: this marker has faults: " in sheet
    said = "DO NOT CUT: this marker has faults"
    inside = [said in " ".join(f.read_text().split()) for f in made.files if f.suffix != ".txt"]
    assert inside == [form is not Format.HPGL] * 2  # HP-GL has no comments
    assert any(finding.text.startswith(said) for finding in made.findings)
    cut_plan(hand_laid_plan, TABLE, tmp_path, **how)
    assert names(tmp_path) == good
