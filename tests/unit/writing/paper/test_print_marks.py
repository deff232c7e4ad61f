"""Marks as they are printed, read back as a photograph of them is."""

from __future__ import annotations

import cv2
import numpy as np
import pypdfium2
import pytest
from PIL import Image

from nesting.reading.pictures.flat import flatten
from nesting.reading.pictures.picture import Picture
from nesting.reading.pictures.references.marks import DICTIONARY
from nesting.reading.pictures.references.reference import MARK, MARKS
from nesting.writing.paper.papers import PAPERS
from nesting.writing.paper.print_marks import PATTERNS, SIDE, print_marks


def test_patterns_are_those_of_the_published_set():
    """As OpenCV has it, which is the reference."""
    assert (SIDE, len(PATTERNS)) == (MARK, MARKS)
    known = cv2.aruco.getPredefinedDictionary(DICTIONARY)
    for number, pattern in enumerate(PATTERNS):
        cells = cv2.aruco.generateImageMarker(known, number, 6)[1:5, 1:5] > 128
        assert [[cell == "1" for cell in row] for row in pattern.split()] == cells.tolist()


@pytest.mark.parametrize("paper", ["a4", "letter", "a3"])
def test_printed_marks_are_found_at_their_size(tmp_path, paper):
    assert print_marks(tmp_path / "marks.pdf", paper=PAPERS[paper]) == 2
    book = pypdfium2.PdfDocument(tmp_path / "marks.pdf")
    pages = [page.render(scale=200.0 / 72.0).to_pil().convert("RGB") for page in book]
    book.close()
    both = Image.new("RGB", (2 * pages[0].width, pages[0].height), "white")
    for i, page in enumerate(pages):
        both.paste(page, (i * page.width, 0))
    flat = flatten(Picture(pixels=np.array(both)), [])
    assert flat.said == "marks, 4 of them"
    # PDFium of pypdfium2 before 5.15 widens what it fills: by one pixel of a mark's 630.
    assert 25.4 / flat.mm_per_pixel == pytest.approx(200.0, rel=2e-3)
