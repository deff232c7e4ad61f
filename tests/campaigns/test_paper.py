"""Prints at true scale, read back, and that what is wrong in them is seen."""

from __future__ import annotations

import json
import re
from pathlib import Path

import pypdf
import pytest
from pypdf.generic import StreamObject

from benchmarks.campaigns.trade.rules.answer import entries_of
from benchmarks.campaigns.trade.rules.judge import matched
from benchmarks.campaigns.trade.shown.paper import Paper, markers_wrong
from benchmarks.campaigns.trade.shown.templates import templates_wrong

ROLL = Paper(914.0, 0.0)
SHEETS = Paper("a4", 10.0)


@pytest.fixture(scope="module")
def printed(made) -> dict[str, Path]:
    found = {}
    for what, paper in (("markers", "--roll=914 mm"), ("templates", "--roll=914 mm"),
                        ("sheets", "--paper=a4")):  # fmt: skip
        found[what] = made.folder / f"{what}.pdf"
        kind = "markers" if what == "sheets" else what
        words = ["print", made.laid / "plan.json", "--out", found[what], "--what", kind, paper]
        made.command(*words, "--rectangles", f"--overlap={'10' if what == 'sheets' else '0'} mm")
    return found


def respelt(file: Path, out: Path, *swaps: tuple[bytes, bytes], page: int | None = None) -> Path:
    """Write a PDF again, some of its operators swapped."""
    writer = pypdf.PdfWriter(clone_from=file)
    for number, one in enumerate(writer.pages):
        if page is not None and number != page:
            continue
        data = one.get_contents().get_data()
        for was, now in swaps:
            data = re.sub(was, now, data)
        stream = StreamObject()
        stream.set_data(data)
        one[pypdf.generic.NameObject("/Contents")] = writer._add_object(stream)
    writer.write(out)
    return out


def test_prints_are_true(made, printed):
    every = matched(made.entries, made.job)
    assert list(markers_wrong(printed["markers"], every, ROLL)) == []
    assert list(markers_wrong(printed["sheets"], every, SHEETS)) == []
    assert list(templates_wrong(printed["templates"], made.job, ROLL, rectangles=True)) == []


@pytest.mark.parametrize(
    ("what", "paper", "change", "said"),
    [
        ("markers", Paper(913.0, 0.0), None, "page 1 is"),
        ("sheets", Paper("letter", 10.0), None, "page 1 is"),
        ("sheets", Paper("a4", 9.0), None, "does not show what is"),
        ("markers", ROLL, "moved", "does not show what is"),
        ("sheets", SHEETS, "moved", "does not show what is"),
        ("markers", ROLL, "lost", "which is no part"),
    ],
)
def test_a_print_of_another_plan_or_paper_is_seen(made, printed, what, paper, change, said, seen):
    entries = getattr(made, change)() if change else made.entries
    assert seen(said, markers_wrong(printed[what], matched(entries, made.job), paper))


def test_a_print_out_of_scale_is_seen(made, printed, tmp_path, seen):
    writer = pypdf.PdfWriter(clone_from=printed["markers"])
    for page in writer.pages:
        page.add_transformation(pypdf.Transformation().scale(0.999))
    writer.write(tmp_path / "small.pdf")
    faults = list(markers_wrong(tmp_path / "small.pdf", matched(made.entries, made.job), ROLL))
    assert seen("0 squares of 100 mm to measure", faults)
    assert seen("does not show what is", faults)


def test_a_sheet_too_few_is_seen(made, printed, tmp_path):
    writer = pypdf.PdfWriter(clone_from=printed["sheets"])
    writer.remove_page(len(writer.pages) - 1)
    writer.write(tmp_path / "short.pdf")
    every = matched(made.entries, made.job)
    assert list(markers_wrong(tmp_path / "short.pdf", every, SHEETS))


@pytest.mark.parametrize(
    ("was", "now", "said"),
    [
        (rb"\[5 1.2 0.8 1.2\] 0 d", b"[] 0 d", "is not drawn as a broken line"),
        (rb"\[3 1.5\] 0 d", b"[] 0 d", "the seam of flap"),
        (rb"0\.5 w 0 G", b"0.25 w 0 G", "there is no template of flap"),
    ],
)
def test_a_template_with_other_lines_is_seen(made, printed, tmp_path, was, now, said, seen):
    file = respelt(printed["templates"], tmp_path / "other.pdf", (was, now))
    assert seen(said, templates_wrong(file, made.job, ROLL, rectangles=True))


@pytest.mark.parametrize(
    ("was", "now", "said"),
    [
        ("pairs = true", "copies = 2", "does not say 'cut 2 from canvas'"),
        ("[[20, 90], [120, 90]]", "[[20, 91], [120, 91]]", "is not drawn as a broken line"),
        ("circle = 30", "circle = 31", "lacks a cut-out"),
        ("[250, 180]", "[250, 181]", "no template of base"),
        ('line = "sewing"', 'line = "cutting"', "no template of flap"),
        ('"base"', '"bottom"', "does not name bottom"),
    ],
)
def test_a_template_of_another_job_is_seen(made, printed, was, now, said, seen):
    job = made.asked((was, now))
    faults = list(templates_wrong(printed["templates"], job, ROLL, rectangles=True))
    assert seen(said, faults)


def test_a_print_that_does_not_name_a_part_is_seen(made, printed, seen):
    text = (made.laid / "plan.json").read_text(encoding="utf-8")
    entries = entries_of(json.loads(text.replace("flap", "lid")))
    every = matched(entries, made.asked(("flap", "lid")))
    assert seen("does not name lid", markers_wrong(printed["markers"], every, ROLL))
