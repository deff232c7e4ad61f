"""Starter drawings read without an option, as what they were drawn as."""

from __future__ import annotations

from pathlib import Path

import pypdfium2
import pytest

from nesting.guide.starter import STARTERS
from nesting.guide.starter_files import starter
from nesting.pattern.measure import area
from nesting.pattern.piece import MarkKind
from nesting.reading.pattern_file import Found, Pattern
from nesting.reading.read import read_pattern

FOLDER = Path(__file__).parents[3] / "sample_markers" / "starters"
KINDS = ("svg", "dxf", "pdf")

# ISO 216: A4 is 210 × 297 mm. ANSI/ASME Y14.1: Letter is 8.5 × 11 in. In points of 1/72 in.
PAPER = {"a4_mm": (595.276, 841.890), "letter_inch": (612.0, 792.0)}


def _read(name: str, kind: str) -> Pattern:
    return read_pattern(FOLDER / f"starter_{name}.{kind}")


@pytest.mark.parametrize("kind", KINDS)
@pytest.mark.parametrize("name", STARTERS)
def test_a_starter_is_up_to_date(tmp_path: Path, name: str, kind: str) -> None:
    """Other versions of ezdxf and reportlab write other bytes, but the same drawing."""
    fresh = tmp_path / f"fresh.{kind}"
    fresh.write_bytes(starter(name, kind))
    drawn = read_pattern(fresh)
    assert drawn.found == _read(name, kind).found
    assert len(drawn.found) == 2


@pytest.mark.parametrize("kind", KINDS)
@pytest.mark.parametrize("name", STARTERS)
def test_a_starter_reads_as_it_was_drawn(name: str, kind: str) -> None:
    page, pattern = STARTERS[name], _read(name, kind)
    mm = {"mm": 1.0, "in": 25.4}[page.unit]
    found: dict[str, Found] = {one.piece.name: one for one in pattern.found}
    assert set(found) == {"Front", "Pocket"}
    front, pocket = found["Front"], found["Pocket"]
    wide, high = page.front
    assert front.piece.sew is not None
    # A PDF gives points to some hundred-thousandths of a millimetre.
    near = {"rel": 1e-5}
    assert area(front.piece.sew) == pytest.approx(wide * high * mm**2, **near)
    grown = (wide + 2.0 * page.allowance) * (high + 2.0 * page.allowance)
    assert area(front.piece.cut) == pytest.approx(grown * mm**2, **near)
    assert area(pocket.piece.cut) == pytest.approx(
        2 * page.pocket[0] * page.pocket[1] * mm**2, **near
    )
    assert pocket.opened
    assert not front.opened
    assert front.up_known
    assert pocket.up_known
    assert front.piece.grain == pytest.approx(90.0, abs=1e-3)
    assert (front.right, front.left, front.material) == (2, 0, "2 outer, 2 lining")
    assert (pocket.right, pocket.left, pocket.material) == (1, 0, "outer")
    kinds = [mark.kind for mark in front.piece.marks]
    assert kinds.count(MarkKind.NOTCH) == 1
    assert kinds.count(MarkKind.DRILL) == 1
    assert not [f for f in pattern.findings if f.severity.value == "fault"]
    assert any("so the scale is right" in f.text for f in pattern.findings)
    assert pattern.amounts.unit == page.unit


@pytest.mark.parametrize("name", STARTERS)
def test_a_starter_fits_its_paper(name: str) -> None:
    document = pypdfium2.PdfDocument(FOLDER / f"starter_{name}.pdf")
    assert len(document) == 1
    assert document[0].get_size() == pytest.approx(PAPER[name], abs=0.01)


def test_there_are_no_other_starters() -> None:
    wanted = {f"starter_{name}.{kind}" for name in STARTERS for kind in KINDS}
    assert {file.name for file in FOLDER.iterdir()} == wanted
