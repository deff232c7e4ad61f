"""Pieces of scans and photographs, everywhere as true as they are told to be.

Renders of known shapes; pictures are small, so bounds are in their pixels. The sizes that are
aimed at (a scan of 150 dpi, 12 megapixels of 1 m) are measured by
`benchmarks/photographed/pictures.py`.
"""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest
from shapely import Polygon

import nesting
from benchmarks.photographed import renders
from benchmarks.photographed.renders import Camera, Scanner, Thing, apart, box, placed, saved
from nesting.errors import PatternError
from nesting.pattern.curves import Arc, Line
from nesting.pattern.piece import MarkKind, NotchStyle
from nesting.pattern.shapes import circle, rectangle
from nesting.reading.pictures.picture import Picture
from nesting.reading.pictures.reader import read_photograph
from nesting.reading.pictures.references.reference import parse_references
from nesting.reading.read import Reference, Tiling, read_pattern

PANEL = np.array(rectangle(120, 90, radius=20).points(0.01))
EYELET = placed(np.array(circle(16).points(0.005)), 30, 45)
GUSSET = np.array([[0, 0], [110, 0], [80, 70], [30, 70]], float)
NOTCHED = np.array([[0, 0], [100, 0], [100, 60], [53, 60], [50, 54], [47, 60], [0, 60]], float)
CAMERA = Camera(
    size=(1300, 1000),
    focal=1250.0,
    lens=(-0.06, 0.02, 0.0003, -0.0002, 0.0),
    tilt=(7, -6, 3),
    far=620.0,
)
SHEETS = [renders.sheet(-270, -205, turn=3), renders.sheet(60, -205, turn=-2, sides=(200, 120))]


def photograph(tmp_path, things, *, kind="JPEG", camera=CAMERA, **light):
    pixels = renders.render(camera, things, **{"light": 0.25, "noise": 2.0, **light})
    path = tmp_path / f"table.{kind.lower()}"
    path.write_bytes(saved(pixels, kind=kind))
    return path


def outline(path):
    return np.array(path.points(0.01))


@pytest.fixture(scope="module")
def table(tmp_path_factory):
    """Three paper pieces, one with a hole, and two sheets, in uneven light with soft shadows."""
    things = [
        *SHEETS,
        Thing(placed(PANEL, -200, 40, 15), (232, 228, 218), [placed(EYELET, -200, 40, 15)]),
        Thing(placed(GUSSET, 60, 112, -25), (176, 120, 62)),
        Thing(placed(NOTCHED, 60, -35, 6), (90, 140, 190)),
    ]
    path = photograph(tmp_path_factory.mktemp("table"), things, shadow=0.3)
    return read_pattern(path, reference=Reference(name="A4 and 20 x 12 cm"))


def test_references_are_no_pieces_and_shadows_neither(table):
    assert table.kind == "photograph"
    assert len(table.found) == 3
    assert "A4 and 20 x 12 cm" in table.scale.why
    assert [f.text for f in table.findings if f.severity == "fault"] == []


@pytest.mark.parametrize(("number", "true"), [(0, PANEL), (1, GUSSET)])
def test_an_outline_lies_off_nowhere_by_more_than_is_told(table, number, true):
    areas = [Polygon(outline(piece.cut)).area for piece in table.pieces]
    found = table.found[int(np.argmin(np.abs(np.array(areas) - Polygon(true).area)))]
    off = apart(outline(found.piece.cut), true)
    assert off <= found.uncertainty
    assert found.uncertainty < 1.0
    assert off < 0.45  # mm; a pixel is 0.5 mm
    assert len(found.piece.cut.segments) <= (10 if number == 0 else 4)


def test_straight_sides_are_lines_and_round_ones_arcs(table):
    piece = min(table.pieces, key=lambda p: abs(Polygon(outline(p.cut)).area - 120 * 90))
    kinds = [type(segment) for segment in piece.cut.segments]
    assert kinds.count(Line) == 4
    radii = [segment.radius for segment in piece.cut.segments if isinstance(segment, Arc)]
    assert radii
    assert radii == pytest.approx([20.0] * len(radii), abs=2.0)


def test_a_hole_is_cut_out_and_round(table):
    (piece,) = (piece for piece in table.pieces if piece.holes)
    (hole,) = piece.holes
    assert all(isinstance(segment, Arc) for segment in hole.segments)
    assert math.sqrt(Polygon(outline(hole)).area / math.pi) == pytest.approx(8.0, abs=0.15)


def test_a_notch_is_a_notch_and_no_part_of_the_outline(table):
    piece = next(p for p in table.pieces if any(m.kind is MarkKind.NOTCH for m in p.marks))
    (notch,) = (mark for mark in piece.marks if mark.kind is MarkKind.NOTCH)
    assert notch.style is NotchStyle.V
    assert notch.size == pytest.approx(6.0, abs=0.6)
    assert notch.width == pytest.approx(6.0, abs=0.8)
    assert apart(outline(piece.cut), box(100, 60)) < 0.45


def test_a_picture_shows_what_was_found(table, tmp_path):
    from PIL import Image

    from nesting.reading.pictures.overlay import write_overlay

    write_overlay(table.shown, table.found, tmp_path / "found.png")
    drawn = np.asarray(Image.open(tmp_path / "found.png").convert("RGB")).astype(int)
    plain = table.shown.pixels.astype(int)
    changed = np.abs(drawn - plain).max(axis=2) > 60
    x, y = np.array(table.found[0].piece.cut.start) - table.shown.origin
    column, row = x / table.shown.mm_per_pixel, -y / table.shown.mm_per_pixel
    near = changed[round(row) - 3 : round(row) + 4, round(column) - 3 : round(column) + 4]
    assert near.any()
    assert changed.mean() < 0.1


@pytest.mark.parametrize(("line", "grown"), [(None, 0.0), ("middle", 0.0), ("outside", 0.4)])
def test_a_scan_gives_the_middle_of_its_lines_or_their_outside(tmp_path, line, grown):
    scanner = Scanner(size=(1000, 800), turn=0.8)
    things = [
        *renders.stroke(placed(PANEL, 15, 25), 0.8),
        *renders.stroke(placed(box(20, 20), 120, 0), 0.5),
    ]
    path = photograph(
        tmp_path, things, kind="PNG", camera=scanner, light=0.05, ground=(250, 249, 245)
    )
    pattern = read_pattern(path, reference=Reference(name="2 cm square"), line=line)
    (found,) = pattern.found
    true = np.array(Polygon(PANEL).buffer(grown).exterior.coords[:-1])
    off = apart(outline(found.piece.cut), true)
    assert pattern.kind == "scan"
    assert off <= found.uncertainty
    assert off < 0.3


def test_a_scan_that_says_its_dpi_needs_no_more(tmp_path):
    scanner = Scanner(size=(900, 700))
    things = renders.stroke(placed(GUSSET, 15, 25), 0.6)
    path = photograph(tmp_path, things, kind="PNG", camera=scanner, light=0.0, ground=(250,) * 3)
    (found,) = read_pattern(path, reference=Reference(name="150 dpi")).found
    assert apart(outline(found.piece.cut), GUSSET) < min(0.3, found.uncertainty)
    assert found.uncertainty > 0.002 * 110  # a scanner's own error is in it


def test_pieces_that_run_off_the_picture_or_lie_on_the_sheet_are_told(tmp_path):
    things = [
        *SHEETS,
        Thing(placed(GUSSET, 60, 40), (230, 228, 220)),
        Thing(placed(box(200, 80), 250, 130), (230, 228, 220)),
    ]
    pattern = read_pattern(photograph(tmp_path, things), reference=Reference(name="A4"))
    assert any("run off the picture" in f.text and f.severity == "fault" for f in pattern.findings)
    on_it = [*SHEETS[:1], Thing(placed(GUSSET, -40, -150), (230, 228, 220))]
    with pytest.raises(PatternError):
        read_pattern(photograph(tmp_path, on_it), reference=Reference(name="A4"))


@pytest.mark.parametrize(
    ("how", "told"),
    [
        ({}, "nothing says how large"),
        ({"unit": "mm"}, "has no unit"),
        ({"roles": {"RED": "cut"}}, "has no layers"),
        ({"reference": Reference(length=50.0, name="bar")}, "no line that is known by its name"),
        ({"reference": Reference(name="A4"), "line": "inside"}, "middle or outside"),
        ({"reference": Reference(name="A4"), "size": "L"}, "does not name sizes"),
    ],
)
def test_what_says_nothing_of_a_picture_is_refused_in_one_line(tmp_path, how, told):
    things = [*SHEETS, Thing(placed(GUSSET, 60, 40), (230, 228, 220))]
    camera = Camera(size=(500, 400), focal=480.0, far=620.0)
    path = photograph(tmp_path, things, camera=camera)
    with pytest.raises(PatternError) as refused:
        read_pattern(path, **how)
    assert told in str(refused.value)
    assert "\n" not in str(refused.value)


def test_a_reference_of_pictures_is_refused_for_a_drawing(tmp_path):
    head = 'xmlns="http://www.w3.org/2000/svg" width="22cm" height="9cm" viewBox="0 0 220 90"'
    path = tmp_path / "flap.svg"
    path.write_text(f'<svg {head}><path d="M 10 5 h 200 v 80 h -200 z"/></svg>')
    with pytest.raises(PatternError, match="is no picture"):
        read_pattern(path, reference=Reference(name="A4"))
    with pytest.raises(PatternError, match="is no picture"):
        read_pattern(path, line="middle")


JOB = """
[job]
name = "pouch"

[[piece]]
name = "side"
from = "table.png"
piece = "piece"
file_reference = "{reference}"
file_line = "outside"
up_known = false

[[cloth]]
name = "canvas"
width = "50 cm"

[[cut]]
piece = "side"
material = "canvas"
"""


def test_a_job_takes_a_piece_from_a_scan(tmp_path):
    scanner = Scanner(size=(1000, 700))
    things = [
        *renders.stroke(placed(GUSSET, 15, 25), 0.6),
        *renders.stroke(placed(box(20, 20), 128, 10), 0.5),
    ]
    photograph(tmp_path, things, kind="PNG", camera=scanner, light=0.0, ground=(250,) * 3)
    for reference in ("2 cm", "2 cm square"):
        (tmp_path / "job.toml").write_text(JOB.format(reference=reference))
        job = nesting.read_job(tmp_path / "job.toml")
        true = np.array(Polygon(GUSSET).buffer(0.3, join_style="mitre").exterior.coords[:-1])
        (piece,) = job.bags[0].pieces
        assert apart(outline(piece.cut), true) < 0.35


def test_a_pdf_of_a_picture_goes_the_same_way(tmp_path):
    """The page is as large as the scan, or is not: only what is seen in it counts."""
    from PIL import Image

    scanner = Scanner(size=(1000, 700))
    things = [
        *renders.stroke(placed(GUSSET, 15, 25), 0.6),
        *renders.stroke(placed(box(20, 20), 128, 10), 0.5),
    ]
    pixels = renders.render(scanner, things, ground=(250,) * 3, noise=1.0)
    path = tmp_path / "scan.pdf"
    for dpi in (150, 100):
        Image.fromarray(pixels).save(path, "PDF", resolution=dpi, quality=95)
        (found,) = read_pattern(path, reference=Reference(name="2 cm square")).found
        assert apart(outline(found.piece.cut), GUSSET) < min(0.3, found.uncertainty)
    with pytest.raises(PatternError, match="it is a scan"):
        read_pattern(path)


def test_scanned_pages_of_a_pdf_are_read_each_by_itself(tmp_path):
    """The check square is on each page that is pattern; the cover has none, and is told."""
    from PIL import Image

    scanner = Scanner(size=(1000, 700), turn=0.6)
    pages = []
    for shape in (GUSSET, PANEL * 0.6):
        things = [
            *renders.stroke(placed(shape, 15, 25), 0.6),
            *renders.stroke(placed(box(20, 20), 128, 10), 0.5),
        ]
        pages.append(renders.render(scanner, things, ground=(250,) * 3, noise=1.0))
    cover, *rest = (Image.fromarray(p) for p in (np.full_like(pages[0], 250), *pages))
    path = tmp_path / "scan.pdf"
    cover.save(path, "PDF", resolution=150, quality=95, save_all=True, append_images=rest)
    pattern = read_pattern(path, reference=Reference(name="2 cm square"))
    for found, true in zip(pattern.found, (GUSSET, PANEL * 0.6), strict=True):
        assert apart(outline(found.piece.cut), true) < min(0.3, found.uncertainty)
    (left_out,) = [f.text for f in pattern.findings if f.severity == "fault"]
    assert left_out.startswith("page 1 is left out: there is no '2 cm square'")
    # In the picture of all pages an outline lies on its dark line.
    shown = pattern.shown
    for path_ in shown.outlines:
        x, y = (np.array(path_.points(0.5)) - shown.origin).T / shown.mm_per_pixel
        assert shown.pixels[(-y).round().astype(int), x.round().astype(int)].mean() < 120
    (only,) = read_pattern(
        path, reference=Reference(name="2 cm square"), tiling=Tiling(pages=(3,))
    ).found
    assert apart(outline(only.piece.cut), PANEL * 0.6) < 0.3


def test_words_on_a_scan_are_no_pieces_and_filled_shapes_are_beside_drawn_ones(tmp_path):
    """Lines as thin as a pencil's, letters in and beside pieces, a shape that is filled."""
    import cv2

    scanner = Scanner(size=(1300, 800), turn=0.7)
    things = [
        *renders.stroke(placed(PANEL, 5, 20), 0.3),
        Thing(placed(box(15, 12), 50, 60), (120, 120, 125)),  # in a piece: no piece of its own
        Thing(placed(GUSSET * 0.5, 135, 15), (120, 120, 125)),
        *renders.stroke(placed(box(20, 20), 180, 90), 0.3),
    ]
    pixels = renders.render(scanner, things, ground=(250, 249, 246), noise=2.0)
    for words, at in (("FRONT cut 2", (250, 500)), ("2 cm", (1130, 120))):
        font = cv2.FONT_HERSHEY_SIMPLEX
        pixels = cv2.putText(pixels.copy(), words, at, font, 1.2, (20, 20, 20), 2, cv2.LINE_AA)
    path = tmp_path / "scan.png"
    path.write_bytes(saved(pixels))
    pattern = read_pattern(path, reference=Reference(name="2 cm square"))
    drawn, filled = sorted(pattern.found, key=lambda f: -Polygon(outline(f.piece.cut)).area)
    assert apart(outline(drawn.piece.cut), PANEL) < min(0.3, drawn.uncertainty)
    assert apart(outline(filled.piece.cut), GUSSET * 0.5) < min(0.3, filled.uncertainty)
    assert any("1 thing(s) are filled: all are taken" in f.text for f in pattern.findings)
    (found,) = read_pattern(path, reference=Reference(name="2 cm square"), line="middle").found
    assert apart(outline(found.piece.cut), PANEL) < min(0.3, found.uncertainty)


def test_a_grained_ground_and_shadows_on_it_are_no_pieces(tmp_path):
    """Wood whose grain differs by as much as shadows do; shadows lie at every edge."""
    import cv2

    noise = np.random.default_rng(3).normal(0, 1, (1000, 1300)).astype(np.float32)
    grain = cv2.GaussianBlur(noise, (0, 0), sigmaX=16, sigmaY=1.2)
    grain *= 6.0 / grain.std()
    things = [SHEETS[0], Thing(placed(GUSSET, 60, 40), (232, 228, 220))]
    pixels = renders.render(
        CAMERA, things, ground=(130, 95, 60), light=0.25, shadow=0.3, noise=2.0
    ).astype(np.float32)
    pixels += (grain * (pixels[..., 2] < 140))[..., None]
    path = tmp_path / "wood.jpg"
    path.write_bytes(saved(np.clip(pixels, 0, 255).astype(np.uint8), kind="JPEG"))
    (found,) = read_pattern(path, reference=Reference(name="A4")).found
    assert apart(outline(found.piece.cut), GUSSET) <= found.uncertainty


@pytest.mark.parametrize(
    ("shadow", "share", "reach"),
    [(0.4, 0.75, 0.006), (0.55, 1.0, 0.006), (0.4, 1.0, 0.003), (0.3, 1.0, 0.0015)],
)
def test_a_dark_piece_in_a_shadow_of_its_colour_is_off_by_no_more_than_is_told(
    shadow, share, reach
):
    """Where the rim of its shadow is all that is seen of its edge, it is no piece."""
    colour = tuple(round(part * (1.0 - shadow * share)) for part in (96, 88, 80))
    camera = replace(CAMERA, size=(1000, 770), focal=960.0)
    things = [SHEETS[0], Thing(placed(PANEL, -60, 30, 15), colour)]
    pixels = renders.render(camera, things, light=0.25, noise=2.0, shadow=shadow, reach=reach)
    if reach == 0.006:
        with pytest.raises(PatternError, match="where the pieces end is not seen") as refused:
            read_photograph(Picture(pixels=pixels), parse_references("A4"))
        assert "light them" in (refused.value.hint or "")
        return
    raw, _ = read_photograph(Picture(pixels=pixels), parse_references("A4"))
    (item,) = raw.drafts[0].group.items
    assert apart(outline(item.path), PANEL) < item.off
