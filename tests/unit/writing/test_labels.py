from collections import Counter
from pathlib import Path

import pytest
from pypdf import PdfReader

from nesting.errors import WriteError
from nesting.job.file import read_job
from nesting.writing.labels import part_labels, print_labels
from nesting.writing.tiles import PAPERS

ROOT = Path(__file__).parents[3]
JOB = read_job(ROOT / "sample_markers" / "rucksack" / "rucksack.toml")


def test_every_part_of_the_cutting_list_has_a_label():
    labels = part_labels(JOB)
    want: Counter[tuple[str, str]] = Counter()
    for bag in JOB.bags:
        for cut in bag.cuts:
            want[cut.piece, cut.material] += bag.count * cut.copies * (2 if cut.pairs else 1)
    got = Counter((label.piece.split(",")[0], label.material) for label in labels)
    assert got == want


def test_a_pair_is_told_apart_and_marks_go_to_the_right_copy():
    labels = part_labels(JOB)
    sides = [label for label in labels if label.piece == "side"]
    assert {label.side for label in sides} == {"right", "left"}
    loops = [label for label in labels if "key loop" in label.marks]
    assert [(label.material, label.side) for label in loops] == [("lining", "left")]
    snaps = [label for label in labels if "magnetic snap" in label.marks]
    assert {label.copy for label in snaps} == {"1 of 2"}
    assert all(label.side == "" for label in labels if label.piece == "front")


@pytest.mark.parametrize("paper", sorted(PAPERS))
def test_the_sheet_can_be_read(tmp_path, paper):
    labels = part_labels(JOB)
    file = tmp_path / "labels.pdf"
    print_labels(labels, file, paper=PAPERS[paper])
    reader = PdfReader(file)
    text = "\n".join(page.extract_text() for page in reader.pages)
    for label in labels:
        assert label.bag in text
    assert text.count("Pin to the right side") == len(labels)
    assert text.count("grain\n") + text.endswith("grain") >= sum(x.arrow for x in labels) - 1
    counts = Counter(line for line in text.splitlines())
    assert counts["copy 1 of 1, left hand"] == sum(
        x.side == "left" and x.copy == "1 of 1" for x in labels
    )


def test_no_labels_and_files_that_are_there_are_refused(tmp_path):
    file = tmp_path / "labels.pdf"
    with pytest.raises(WriteError, match="no parts"):
        print_labels((), file)
    file.write_text("mine")
    with pytest.raises(WriteError, match="exists"):
        print_labels(part_labels(JOB), file)
    assert file.read_text() == "mine"
