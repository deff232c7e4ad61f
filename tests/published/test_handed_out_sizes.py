"""A pattern in several sizes, as other readers see what is handed out with it.

Layers are optional content (ISO 32000-1, 8.11): pypdf finds their names and switches them,
PDFium draws what is on. Sizes of what is drawn are those of the job, which are whole mm.
"""

from __future__ import annotations

from pathlib import Path

import ezdxf
import pypdfium2
import pytest
from pypdf import PdfReader, PdfWriter
from pypdf.generic import ArrayObject, NameObject

from nesting.job.file import parse_job
from nesting.marker.check import check
from nesting.pattern.measure import area
from nesting.planning.handout.needed import Needs, needs
from nesting.planning.plan_file import load_plan
from nesting.reading.read import read_pattern
from nesting.writing.handout.numbered import numbered
from nesting.writing.handout.write import write_handout
from nesting.writing.pages.report import report
from nesting.writing.pages.work_sheet import work_sheet
from nesting.writing.paper.labels import part_labels
from nesting.writing.paper.papers import PAPERS
from tests.published.test_handout import told, words_on

SIDES = {"S": (180.0, 120.0), "M": (210.0, 140.0), "XL": (300.0, 170.0)}
JOB = """
[job]
name = "Invented sizes"
sizes = ["S", "M", "XL"]
size = "M"

[[cloth]]
name = "canvas"
width = "35 cm"
selvedge = 0
spacing = 0
ends = 0
shrinkage = 0
nap = "one-way"

[[piece]]
name = "front"
outline = "M 0,0 L 210,0 L 210,140 L 105,139 L 0,140 Z"
line = "cutting"
grain = "along"
seam_allowance = "10 mm"
[piece.in_size.S]
outline = "M 0,0 L 180,0 L 180,120 L 90,119 L 0,120 Z"
[piece.in_size.XL]
outline = "M 0,0 L 300,0 L 300,170 L 150,169 L 0,170 Z"

[[piece]]
name = "strap"
rectangle = ["40 cm", "5 cm"]
line = "cutting"
grain = "along"
in_size = { XL = { rectangle = ["50 cm", "5 cm"] } }

[[cut]]
piece = "front"
material = "canvas"
copies = 2

[[cut]]
piece = "strap"
material = "canvas"
"""


@pytest.fixture(scope="module")
def sized(tmp_path_factory: pytest.TempPathFactory) -> tuple[Needs, Path]:
    folder = tmp_path_factory.mktemp("sized")
    found = needs(parse_job(JOB), widths=(350.0,), seconds=None, rounds=1, workers=1)
    write_handout(found, folder, papers={key: PAPERS[key] for key in ("a4", "a0")})
    return found, folder


def test_each_size_has_a_row_whose_number_is_that_of_a_stored_lay(
    sized: tuple[Needs, Path],
) -> None:
    found, folder = sized
    # By hand: two fronts and a strap beside one another, as long as the strap; in the largest
    # size the fronts one after the other.
    assert [(row.size, round(row.gross, 3)) for row in found.rows if row.one_way] == [
        ("S", 400.0),
        ("M", 400.0),
        ("XL", 600.0),
    ]
    for lay in numbered(found):
        plan = load_plan(folder / lay.file)
        (entry,) = plan.entries
        assert not [f for f in check(entry.marker) if f.severity == "fault"]
        assert plan.job.size == lay.row.size
        fronts = [p for p in entry.marker.lay.parts if p.piece.name == "front"]
        wide, high = SIDES[lay.row.size]
        for part in fronts:
            assert area(part.piece.cut) == pytest.approx(wide * high, rel=0.01)
    said = " ".join(told("pdftotext", "-layout", folder / "booklet-a4.pdf", "-").split())
    for size, (wide, high) in SIDES.items():
        assert f"canvas, size {size}" in said
        assert f"{size}: {wide / 10:g} × {high / 10:g} cm" in said
        assert f"strap, size {size}" in said


def test_a_plan_says_its_size_and_labels_that_are_handed_out_none(
    sized: tuple[Needs, Path],
) -> None:
    found, folder = sized
    (lay,) = (lay for lay in numbered(found) if lay.row.size == "XL")
    plan = load_plan(folder / lay.file)
    assert {label.bag for label in part_labels(plan)} == {"Invented sizes, size XL"}
    assert "Invented sizes, size XL: markers" in report(plan)
    assert "Invented sizes, size XL: work sheet" in work_sheet(plan, files={})
    said = told("pdftotext", folder / "labels-a4.pdf", "-")
    assert "Invented sizes" in said
    assert "size" not in said.replace("Invented sizes", "")


def switched(file: Path, *on: str) -> pypdfium2.PdfDocument:
    """Return a file of which only some layers are seen."""
    writer = PdfWriter(clone_from=PdfReader(file))
    config = writer.root_object["/OCProperties"]["/D"]  # type: ignore[index]
    groups = writer.root_object["/OCProperties"]["/OCGs"]  # type: ignore[index]
    names = [str(group.get_object()["/Name"]) for group in groups]
    assert {*on} <= {*names}
    seen = [group for group, name in zip(groups, names, strict=True) if name in on]
    unseen = [group for group in groups if group not in seen]
    config[NameObject("/ON")], config[NameObject("/OFF")] = ArrayObject(seen), ArrayObject(unseen)
    writer.write(file.with_name("switched.pdf"))
    return pypdfium2.PdfDocument(file.with_name("switched.pdf"))


def reach(document: pypdfium2.PdfDocument) -> tuple[float, float] | None:
    """Return how long and high (mm) what is drawn below the legend of the page is."""
    picture = document[0].render(scale=127 / 72, grayscale=True)
    dark = picture.to_numpy().reshape(picture.height, picture.width) < 200
    dark = dark[round(40.0 / 0.2) :]
    if not dark.any():
        return None
    across, down = dark.any(axis=0).nonzero()[0], dark.any(axis=1).nonzero()[0]
    return (across[-1] - across[0] + 1) * 0.2, (down[-1] - down[0] + 1) * 0.2


@pytest.mark.parametrize("size", SIDES)
def test_the_projector_shows_one_size_alone_at_its_true_size(
    size: str, sized: tuple[Needs, Path]
) -> None:
    seen = reach(switched(sized[1] / "projector.pdf", "cut", f"size {size}"))
    assert seen == pytest.approx([side + 1.6 for side in SIDES[size]], abs=0.5)


def test_a_line_of_a_size_is_seen_if_both_its_layers_are(sized: tuple[Needs, Path]) -> None:
    file = sized[1] / "projector.pdf"
    assert reach(switched(file, "size M")) is None
    assert reach(switched(file, "cut")) is None
    sewn = reach(switched(file, "sew", "size M"))
    assert sewn == pytest.approx([side - 20.0 + 1.0 for side in SIDES["M"]], abs=0.5)
    both = reach(switched(file, "cut", "size S", "size XL"))
    assert both == pytest.approx([side + 1.6 for side in SIDES["XL"]], abs=0.5)


@pytest.mark.parametrize("paper", ["a4", "a0"])
def test_true_size_pages_have_a_layer_and_a_line_for_each_size(
    paper: str, sized: tuple[Needs, Path]
) -> None:
    file = sized[1] / f"pages-{paper}.pdf"
    groups = PdfReader(file).root_object["/OCProperties"]["/OCGs"]  # type: ignore[index]
    names = [str(group.get_object()["/Name"]) for group in groups]
    assert names[-3:] == ["size S", "size M", "size XL"]
    words = " ".join(word[0] for page in words_on(file) for word in page)
    for size in SIDES:
        assert f"cut {size}" in words
    assert words.count("front cut 2 from canvas") == 1
    assert "Sizes S, M, XL: each has a line of its own" in words


def test_every_size_comes_back_from_the_dxf(sized: tuple[Needs, Path]) -> None:
    file = sized[1] / "pattern.dxf"
    seen = set()
    for block in (b for b in ezdxf.readfile(file).blocks if not b.name.startswith("*")):
        texts = [entity.dxf.text for entity in block.query("TEXT")]
        fields = dict(text.split(": ", 1) for text in texts if ": " in text)
        seen.add((fields["Piece Name"], fields["Size"]))
    assert seen == {(name, size) for name in ("front", "strap") for size in SIDES}
    for size, (wide, high) in SIDES.items():
        pattern = read_pattern(file, size=size)
        front = pattern.piece("front")
        assert area(front.cut) == pytest.approx(wide * high - wide / 2.0, rel=1e-3)
    said = (sized[1] / "pattern.svg").read_text()
    for title in ("front, size S", "front, size XL", "strap, size M"):
        assert f"<title>{title}</title>" in said
