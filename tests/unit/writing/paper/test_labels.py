from collections import Counter
from pathlib import Path

import pytest
from pypdf import PdfReader

from nesting.errors import WriteError
from nesting.planning.plan_file import load_plan
from nesting.writing.neutral.keys import job_keys
from nesting.writing.paper.labels import part_labels
from nesting.writing.paper.papers import PAPERS
from nesting.writing.paper.print_labels import print_labels

ROOT = Path(__file__).parents[4]
PLAN = load_plan(ROOT / "sample_markers" / "rucksack" / "laid" / "plan.json")
JOB = PLAN.job


def test_every_part_of_the_cutting_list_has_a_label():
    labels = part_labels(PLAN)
    want: Counter[tuple[str, str]] = Counter()
    for bag in JOB.bags:
        for cut in bag.cuts:
            want[cut.piece, cut.material] += bag.count * cut.copies * (2 if cut.pairs else 1)
    got = Counter((label.piece.split(",")[0], label.material) for label in labels)
    assert got == want


def test_a_pair_is_told_apart_and_marks_go_to_the_right_copy():
    labels = part_labels(PLAN)
    sides = [label for label in labels if label.piece == "side"]
    assert {label.side for label in sides} == {"right", "left"}
    loops = [label for label in labels if "key loop" in label.marks]
    assert [(label.material, label.side) for label in loops] == [("lining", "left")]
    snaps = [label for label in labels if "magnetic snap" in label.marks]
    assert {label.copy for label in snaps} == {"1 of 2"}
    assert all(label.side == "" for label in labels if label.piece == "front")


@pytest.mark.parametrize("paper", sorted(PAPERS))
def test_the_sheet_can_be_read(tmp_path, paper):
    labels = part_labels(PLAN)
    file = tmp_path / "labels.pdf"
    print_labels(labels, file, paper=PAPERS[paper])
    reader = PdfReader(file)
    text = "\n".join(page.extract_text() for page in reader.pages)
    for label in labels:
        assert label.bag in text
    assert text.count("Pin to the right side") == len(labels)
    lines = [" ".join(line.split()) for line in text.splitlines()]
    assert lines.count("up") == sum(x.one_way for x in labels) > 0
    assert lines.count("grain") == sum(x.arrow and not x.one_way for x in labels) > 0
    assert sum("arrow to the top of the print" in line for line in lines) == lines.count("up")
    for label in labels:
        assert f"{label.key} {label.piece}" in lines
    counts = Counter(lines)
    assert counts["copy 1 of 1, left hand"] == sum(
        x.side == "left" and x.copy == "1 of 1" for x in labels
    )


def test_labels_bear_the_keys_of_the_report_and_the_zones_of_leather():
    keys = job_keys(JOB)
    for label in part_labels(PLAN):
        piece, _, variant = label.piece.partition(", ")
        assert label.key == keys.key_of(piece, variant)
        assert not label.zone
    pouch = load_plan(ROOT / "sample_markers" / "pouch" / "laid" / "plan.json")
    labels = part_labels(pouch)
    assert labels
    assert all(label.zone for label in labels)
    assert {label.zone.split(" (")[0] for label in labels} >= {"butt", "shoulder", "flank"}


def test_no_labels_and_files_that_are_there_are_refused(tmp_path):
    file = tmp_path / "labels.pdf"
    with pytest.raises(WriteError, match="no parts"):
        print_labels((), file)
    file.write_text("mine")
    with pytest.raises(WriteError, match="exists"):
        print_labels(part_labels(PLAN), file)
    assert file.read_text() == "mine"
