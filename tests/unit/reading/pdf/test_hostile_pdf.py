"""PDFs that are locked, broken, endless or enormous are refused in one line, within bounds."""

from __future__ import annotations

import io
import zlib

import pytest
from PIL import Image
from pypdf import PdfReader, PdfWriter
from pypdf.generic import (
    ArrayObject,
    DecodedStreamObject,
    DictionaryObject,
    FloatObject,
    NameObject,
    RectangleObject,
    TextStringObject,
)
from reportlab.lib.utils import ImageReader
from reportlab.pdfgen.canvas import Canvas

from nesting.errors import PatternError
from nesting.pattern.measure import area
from nesting.reading.pdf import apart
from nesting.reading.pdf import open as opened
from nesting.reading.read import read_pattern
from tests.unit.reading.refused import one_line_or_none, refusal


def bounded(monkeypatch: pytest.MonkeyPatch, limit: str, value: int) -> None:
    """Set a limit where it is kept to and where it is told."""
    for module in (apart, opened):
        monkeypatch.setattr(module, limit, value)


def pdf_of(content: bytes, resources: str = "", *more: str) -> bytes:
    """Return a file of one page, written by hand."""
    packed = zlib.compress(content)
    bodies = [
        b"<</Type/Catalog/Pages 2 0 R>>",
        b"<</Type/Pages/Kids[3 0 R]/Count 1>>",
        b"<</Type/Page/Parent 2 0 R/MediaBox[0 0 900 900]/Contents 4 0 R/Resources<<"
        + resources.encode()
        + b">>>>",
        f"<</Filter/FlateDecode/Length {len(packed)}>>stream\n".encode() + packed + b"\nendstream",
        *(body.encode() for body in more),
    ]
    out = io.BytesIO(b"%PDF-1.7\n")
    out.seek(0, 2)
    places = []
    for number, body in enumerate(bodies, 1):
        places.append(out.tell())
        out.write(f"{number} 0 obj".encode() + body + b"endobj\n")
    start = out.tell()
    table = "".join(f"{place:010} 00000 n \n" for place in places)
    out.write(f"xref\n0 {len(bodies) + 1}\n0000000000 65535 f \n{table}".encode())
    out.write(f"trailer<</Root 1 0 R/Size {len(bodies) + 1}>>\nstartxref\n{start}\n%%EOF".encode())
    return out.getvalue()


@pytest.fixture
def plain(draw, tmp_path):
    return draw.single(tmp_path / "plain.pdf")


def test_a_locked_file(plain, tmp_path) -> None:
    writer = PdfWriter(clone_from=plain)
    writer.encrypt("secret", algorithm="RC4-128")
    writer.write(tmp_path / "locked.pdf")
    assert "locked with a password" in refusal(tmp_path / "locked.pdf")


def test_broken_files(plain, tmp_path) -> None:
    file = tmp_path / "broken.pdf"
    for data in (b"%PDF-1.4 nothing", plain.read_bytes()[:700], b"%PDF-1.7\n" + bytes(5000)):
        file.write_bytes(data)
        assert "broken" in refusal(file)


def test_any_cut_or_spoilt_file_is_read_or_refused_in_one_line(plain, tmp_path) -> None:
    data = plain.read_bytes()
    file = tmp_path / "spoilt.pdf"
    for share in (0.3, 0.6, 0.9):
        middle = int(share * len(data))
        for spoilt in (data[:middle], data[:middle] + b"\xff\x00<<[" + data[middle + 5 :]):
            file.write_bytes(spoilt)
            assert one_line_or_none(file)


def test_forms_in_forms_without_end(tmp_path, monkeypatch) -> None:
    """Each of thirty forms draws the next one ten times: 10³⁰ lines."""
    forms = []
    for n in range(5, 35):
        draws = "/F Do " * 10 if n < 34 else "0 0 m 9 9 l S"
        inner = f"/XObject<</F {n + 1} 0 R>>" if n < 34 else ""
        forms.append(
            f"<</Type/XObject/Subtype/Form/BBox[0 0 900 900]/Resources<<{inner}>>"
            f"/Length {len(draws)}>>stream\n{draws}\nendstream"
        )
    file = tmp_path / "forms.pdf"
    file.write_bytes(pdf_of(b"/F Do", "/XObject<</F 5 0 R>>", *forms))
    bounded(monkeypatch, "LONGEST_PDF", 4)
    told = refusal(file)
    assert any(word in told for word in ("takes more than", "draws more than"))


def test_a_crowd_of_lines(tmp_path, monkeypatch) -> None:
    monkeypatch.setattr(opened, "MOST_PDF_THINGS", 1000)
    file = tmp_path / "crowd.pdf"
    file.write_bytes(pdf_of(b"0 0 m 9 9 l S " * 2000))
    assert "draws more than 1,000 things" in refusal(file)
    monkeypatch.setattr(opened, "MOST_PDF_THINGS", 10_000)
    monkeypatch.setattr(opened, "MOST_PDF_POINTS", 1000)
    assert "1,000 points" in refusal(file)


def test_too_many_pages(tmp_path, monkeypatch) -> None:
    bounded(monkeypatch, "MOST_PDF_PAGES", 3)
    canvas = Canvas(str(tmp_path / "many.pdf"))
    for _ in range(4):
        canvas.rect(10, 10, 300, 300)
        canvas.showPage()
    canvas.save()
    assert "4 pages, and at most 3 are read" in refusal(tmp_path / "many.pdf")


def test_a_file_that_takes_all_memory(tmp_path, monkeypatch) -> None:
    bounded(monkeypatch, "MOST_PDF_MEMORY", 300_000_000)
    file = tmp_path / "large.pdf"
    file.write_bytes(pdf_of(b"0 0 m 9 9 l " * 3_000_000 + b"S"))
    assert "gave up" in refusal(file)
    monkeypatch.undo()  # with the usual room it is another limit that it meets
    assert "draws more than" in refusal(file)


def test_numbers_that_are_none(tmp_path) -> None:
    file = tmp_path / "odd.pdf"
    file.write_bytes(pdf_of(b"1e400 0 m 99999999999999999999 9 l nan inf l 3 3 l h S"))
    assert refusal(file)


def test_pictures_only(tmp_path) -> None:
    canvas = Canvas(str(tmp_path / "scan.pdf"))
    canvas.drawImage(ImageReader(Image.new("L", (50, 50))), 0, 0, 500, 700)
    canvas.save()
    assert "pictures and no drawn lines" in refusal(tmp_path / "scan.pdf")


def test_nothing_at_all(tmp_path) -> None:
    canvas = Canvas(str(tmp_path / "empty.pdf"))
    canvas.showPage()
    canvas.save()
    assert "no lines are drawn" in refusal(tmp_path / "empty.pdf")


def test_user_units_turned_and_cropped_pages(plain, draw, tmp_path) -> None:
    """ISO 32000-1, table 30: UserUnit, Rotate and CropBox."""
    writer = PdfWriter(clone_from=plain)
    page = writer.pages[0]
    page[NameObject("/UserUnit")] = FloatObject(2.0)
    page.rotate(90)
    page.cropbox = RectangleObject((20.0, 30.0, *map(float, page.mediabox.upper_right)))
    writer.write(tmp_path / "turned.pdf")
    with pytest.raises(PatternError, match="10 cm in the file, 200 % of what it says"):
        read_pattern(tmp_path / "turned.pdf")
    pattern = read_pattern(tmp_path / "turned.pdf", unit="mm")
    front = pattern.piece("Front")
    assert area(front.cut) == pytest.approx(4.0 * draw.FRONT, rel=1e-5)
    assert front.grain % 360.0 == pytest.approx(0.0, abs=1e-6)  # turned clockwise: up is right


def test_layers_that_are_off_are_not_read(plain, draw, tmp_path) -> None:
    """ISO 32000-1, 8.11: optional content."""
    reader = PdfReader(plain)
    writer = PdfWriter(clone_from=reader)
    page = writer.pages[0]
    layers = [
        writer._add_object(
            DictionaryObject(
                {
                    NameObject("/Type"): NameObject("/OCG"),
                    NameObject("/Name"): TextStringObject(name),
                }
            )
        )
        for name in ("draft", "sew")
    ]
    writer._root_object[NameObject("/OCProperties")] = DictionaryObject(
        {
            NameObject("/OCGs"): ArrayObject(layers),
            NameObject("/D"): DictionaryObject({NameObject("/OFF"): ArrayObject(layers[:1])}),
        }
    )
    resources = page["/Resources"].get_object()
    resources[NameObject("/Properties")] = DictionaryObject(
        {NameObject("/A"): layers[0], NameObject("/B"): layers[1]}
    )
    k = 72.0 / 25.4
    extra = (
        f"q {k} 0 0 {k} 0 0 cm /OC /A BDC 250 340 100 40 re S EMC "
        "/OC /B BDC 240 460 m 390 460 l 440 505 l 390 550 l 240 550 l h S EMC Q\n"
    )
    stream = DecodedStreamObject()
    stream.set_data(extra.encode() + page.get_contents().get_data())
    page[NameObject("/Contents")] = writer._add_object(stream)
    writer.write(tmp_path / "layers.pdf")
    pattern = read_pattern(tmp_path / "layers.pdf")
    assert {piece.name for piece in pattern.pieces} == set(draw.AREAS)
    flap = pattern.piece("Flap")
    assert flap.sew is not None
    assert not flap.holes
