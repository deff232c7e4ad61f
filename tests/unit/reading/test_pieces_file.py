from __future__ import annotations

import os
import tomllib
from pathlib import Path as FilePath

import pytest

import nesting
from nesting.errors import JobError, WriteError
from nesting.job.file import read_job
from nesting.pattern.measure import area, bounds
from nesting.pattern.piece import Face, Hand, Mark, MarkKind, NotchStyle, Piece
from nesting.pattern.shapes import circle, rectangle
from nesting.pattern.svg_path import parse_path
from nesting.reading.listing import headline, list_pieces
from nesting.reading.pattern_file import Found, Pattern
from nesting.reading.pieces_file import pieces_toml, save_pieces
from nesting.reading.read import pattern_for, read_pattern
from nesting.reading.unit.scale import Scale

PIECE = Piece(
    name='Front "left" \\ é',
    cut=rectangle(300.0, 200.0, radius=30.0),
    holes=(circle(20.0, centre=(60.0, 60.0)).reversed(),),
    sew=rectangle(280.0, 180.0, radius=20.0, at=(10.0, 10.0)),
    grain=90.0,
    fold=((150.0, 0.0), (150.0, 200.0)),
    fold_back=((0.0, 150.0), (300.0, 150.0)),
    motif=(150.0, 90.0),
    points=(("seam, top", (30.0, 200.0)),),
    marks=(
        Mark(kind=MarkKind.NOTCH, at=(150.0, 0.0), size=4.0, width=5.0, style=NotchStyle.CASTLE),
        Mark(
            kind=MarkKind.NOTCH,
            at=(200.0, 0.0),
            style=NotchStyle.CHECK,
            mirrored=True,
        ),
        Mark(kind=MarkKind.DRILL, at=(100.0, 100.0), size=3.0, copies=frozenset({1, 2})),
        Mark(kind=MarkKind.LINE, path=parse_path("M 90 50 C 100 90 130 90 150 50")[0], name="dart"),
        Mark(kind=MarkKind.OUTLINE, path=circle(30.0, centre=(200.0, 100.0))),
        Mark(
            kind=MarkKind.TEXT,
            at=(40.0, 150.0),
            text="cut\ttwo",
            size=8.0,
            angle=30.0,
            hands=frozenset({Hand.LEFT}),
            materials=frozenset({"shell", "lining"}),
            face=Face.WRONG,
        ),
    ),
)


def pattern(*pieces: Piece) -> Pattern:
    return Pattern(
        file="a\nb.dxf",
        kind="SVG",
        found=tuple(Found(piece=piece, right=1, left=1, material="x\n[oops]") for piece in pieces),
        findings=(),
        scale=Scale(factor=1.0, unit="mm", why="as the user says"),
    )


def test_a_job_includes_what_was_written(tmp_path):
    piece = Piece(**{**{f: getattr(PIECE, f) for f in PIECE.__slots__}, "name": "Front é"})
    save_pieces(pattern(piece), tmp_path / "pieces.toml")
    job = tmp_path / "job.toml"
    job.write_text(
        'include = "pieces.toml"\n[job]\nname = "x"\n'
        '[[cloth]]\nname = "shell"\nwidth = 1400\n[[cloth]]\nname = "lining"\nwidth = 1400\n'
        '[[cut]]\npiece = "Front é"\nmaterial = "shell"\ncopies = 2\n',
        encoding="utf-8",
    )
    (back,) = read_job(job).bags[0].pieces
    assert area(back.cut) == pytest.approx(area(piece.cut), rel=1e-12)
    assert [area(h) for h in back.holes] == pytest.approx([area(h) for h in piece.holes])
    assert back.sew is not None
    assert area(back.sew) == pytest.approx(area(piece.sew), rel=1e-12)
    for name in ("grain", "fold", "fold_back", "motif", "points"):
        assert getattr(back, name) == getattr(piece, name)
    for ours, theirs in zip(piece.marks, back.marks, strict=True):
        for name in Mark.__slots__:
            if name != "path":
                assert getattr(ours, name) == getattr(theirs, name), name


def test_what_is_written_can_be_laid_even_if_marks_run_off(tmp_path):
    off = (
        Mark(kind=MarkKind.DRILL, at=(400.0, 100.0), size=3.0),
        Mark(kind=MarkKind.LINE, path=parse_path("M 150 100 L 350 100")[0], name="placement"),
    )
    piece = Piece(name="front", cut=rectangle(300.0, 200.0), marks=off)
    save_pieces(pattern(piece), tmp_path / "pieces.toml")
    text = (tmp_path / "pieces.toml").read_text(encoding="utf-8")
    assert "# Fault: a drill mark runs 101.5 mm off the piece and is left out" in text
    job = tmp_path / "job.toml"
    job.write_text(
        'include = "pieces.toml"\n[job]\nname = "x"\n[[cloth]]\nname = "shell"\nwidth = 1400\n'
        '[[cut]]\npiece = "front"\nmaterial = "shell"\n',
        encoding="utf-8",
    )
    (back,) = read_job(job).bags[0].pieces
    (line,) = back.marks
    assert line.path is not None
    assert line.path.end == pytest.approx((300.0, 100.0))


def test_text_of_a_pattern_file_stays_text():
    data = tomllib.loads(pieces_toml(pattern(PIECE)))
    assert set(data) == {"unit", "piece"}
    assert [piece["name"] for piece in data["piece"]] == [PIECE.name]
    assert data["piece"][0]["mark"][5]["text"] == "cut\ttwo"


def test_nothing_is_replaced_unasked_and_nothing_half_written(tmp_path):
    path = tmp_path / "pieces.toml"
    path.write_text("old")
    with pytest.raises(WriteError, match="exists already"):
        save_pieces(pattern(PIECE), path)
    assert path.read_text() == "old"
    save_pieces(pattern(PIECE), path, overwrite=True)
    assert path.read_text() != "old"
    with pytest.raises(WriteError, match="can't be written"):
        save_pieces(pattern(PIECE), tmp_path / "none" / "pieces.toml")
    assert os.listdir(tmp_path) == ["pieces.toml"]


def test_rows_to_print(dxf, saved):
    content = [
        dxf.poly(1, dxf.SQUARE),
        dxf.poly(11, [(100, 100), (140, 100), (140, 140), (100, 140)]),
        dxf.point(4, 200, 0, 30, 5),
        dxf.point(4, 200, 150, 30, 5),
        dxf.point(13, 50, 50),
        dxf.text("Piece Name: Front"),
        dxf.text("Quantity: 1,1"),
        dxf.text("Material: shell"),
    ]
    found = read_pattern(saved(dxf.file({"A": content})))
    (row,) = list_pieces(found)
    assert (row.name, row.quantity, row.material) == ("Front", "1 right, 1 left", "shell")
    assert (row.length, row.width, row.area) == pytest.approx((400, 300, 400 * 300 - 1600))
    assert (row.holes, row.notches, row.drills, row.sewn) == (1, 1, 1, False)
    assert len(row.faults) == 1
    assert "off the edge" in row.faults[0]
    assert "no grain line" in row.notes[0]
    assert headline(found) == (
        "sewn-product DXF, 1 piece, the largest 400 × 300 mm; "
        "unit: mm (the style text says Units: METRIC)"
    )


def test_a_job_points_straight_at_a_pattern_file(dxf, saved, tmp_path):
    content = [dxf.poly(1, dxf.SQUARE), dxf.text("Piece Name: Front"), dxf.line(7, 0, 0, 0, 9)]
    saved(dxf.file({"A": content}))
    job = tmp_path / "job.toml"
    job.write_text(
        '[job]\nname = "x"\n[[cloth]]\nname = "shell"\nwidth = 1400\n'
        '[[piece]]\nname = "panel"\nfrom = "pattern.dxf"\npiece = "front"\n'
        '[[cut]]\npiece = "panel"\nmaterial = "shell"\n'
    )
    (piece,) = (
        read_job(job, resolver=lambda asked: pattern_for(asked).piece(asked.piece)).bags[0].pieces
    )
    assert (piece.name, piece.grain) == ("panel", pytest.approx(90.0))
    assert area(piece.cut) == pytest.approx(120_000)


def test_a_job_tells_how_its_pattern_files_were_understood(tmp_path):
    """A unit that the user says against the file's own word is told, not swallowed."""
    (tmp_path / "file.svg").write_text(
        '<svg xmlns="http://www.w3.org/2000/svg" width="300mm" height="200mm" '
        'viewBox="0 0 300 200"><path id="front" d="M 10 10 H 250 V 150 H 10 Z"/></svg>'
    )
    text = """
        job.name = "x"
        [[piece]]
        name = "front"
        from = "file.svg"
        file_unit = "1/90 in"
        [[cloth]]
        name = "cloth"
        width = "140 cm"
        [[cut]]
        piece = "front"
        material = "cloth"
    """
    job = tmp_path / "job.toml"
    job.write_text(text)
    told = "\n".join(nesting.read_job(job).assumptions)
    assert "file.svg: drawn in 1/90 in (as the user says)" in told
    assert "instead of 67.7 × 39.5 mm" in told
    job.write_text(text.replace('file_unit = "1/90 in"', ""))
    told = "\n".join(nesting.read_job(job).assumptions)
    assert "file.svg: drawn in" in told
    assert "instead of" not in told


def job_with(tmp_path, text: str):
    job = tmp_path / "job.toml"
    job.write_text(
        '[job]\nname = "x"\n[[cloth]]\nname = "shell"\nwidth = 1400\n'
        f'[[cut]]\npiece = "front"\nmaterial = "shell"\n{text}',
        encoding="utf-8",
    )
    return job


def drawn_front(dxf, saved, *more, width=300.0):
    """Return a file with a front far from the drawing's origin."""
    ring = [(500, 700), (500 + width, 700), (500 + width, 900), (500, 900)]
    name = dxf.text("Piece Name: front")
    return saved(dxf.file({"A": [dxf.poly(1, ring), name, dxf.point(13, 510, 710, 30, 4), *more]}))


def test_places_are_measured_from_the_corner_of_the_piece(dxf, saved, tmp_path):
    path = drawn_front(dxf, saved)
    mark = '[[piece.mark]]\nkind = "drill"\nat = ["3 cm", "4 cm"]\n'
    straight = job_with(tmp_path, f'[[piece]]\nname = "front"\nfrom = "{path.name}"\n{mark}')
    straight_read = nesting.read_job(straight)
    save_pieces(read_pattern(path), tmp_path / "pieces.toml")
    with (tmp_path / "pieces.toml").open("a", encoding="utf-8") as file:
        file.write(mark)
    text = straight.read_text(encoding="utf-8").split("[[piece]]")[0]
    straight.write_text(f'include = "pieces.toml"\n{text}', encoding="utf-8")
    for job in (straight_read, nesting.read_job(straight)):
        (piece,) = job.bags[0].pieces
        assert bounds(piece.cut) == pytest.approx((0, 0, 300, 200))
        assert [m.at for m in piece.marks] == [pytest.approx((10, 10)), pytest.approx((30, 40))]
    told = "\n".join(straight_read.assumptions)
    assert "from the lower left corner of its outline, which is 30 × 20 cm" in told


ADDED = '\n[[piece.mark]]\nkind = "drill"\nat = ["3 cm", 40]  # the snap\nsize = "5 mm"\n'


def test_marks_added_by_hand_stay(dxf, saved, tmp_path):
    file = tmp_path / "pieces.toml"
    save_pieces(read_pattern(drawn_front(dxf, saved)), file)
    first = file.read_text(encoding="utf-8")
    assert save_pieces(read_pattern(drawn_front(dxf, saved)), file, overwrite=True) == ()
    assert file.read_text(encoding="utf-8") == first
    file.write_text(first.replace("grain =", 'notes = "mine"\ngrain =') + ADDED, encoding="utf-8")
    for width in (320.0, 330.0):
        told = save_pieces(read_pattern(drawn_front(dxf, saved, width=width)), file, overwrite=True)
        assert told == ("front: kept what was added by hand: 1 mark, notes",)
        text = file.read_text(encoding="utf-8")
        assert "# the snap" in text
        (piece,) = tomllib.loads(text)["piece"]
        assert piece["notes"] == "mine"
        assert [mark["at"] for mark in piece["mark"]] == [[10.0, 10.0], ["3 cm", 40]]
        assert f" {width:g},0" in piece["outline"]


@pytest.mark.parametrize("table", [False, True])
def test_named_points_added_by_hand_stay(dxf, saved, tmp_path, table):
    file = tmp_path / "pieces.toml"
    save_pieces(read_pattern(drawn_front(dxf, saved)), file)
    text = file.read_text(encoding="utf-8")
    if table:
        file.write_text(f"{text}[piece.named_points]\ntop = [0, 5]\n")
    else:
        file.write_text(text.replace("grain =", "named_points = { top = [0, 5] }\ngrain ="))
    for _ in range(2):
        save_pieces(read_pattern(drawn_front(dxf, saved)), file, overwrite=True)
        (piece,) = tomllib.loads(file.read_text(encoding="utf-8"))["piece"]
        assert piece["named_points"] == {"top": [0, 5]}


def test_a_grain_settled_by_hand_stays_until_an_arrow_says_otherwise(dxf, saved, tmp_path):
    file = tmp_path / "pieces.toml"
    shaft = dxf.line(7, 600, 720, 600, 880)
    save_pieces(read_pattern(drawn_front(dxf, saved, shaft)), file)
    text = file.read_text(encoding="utf-8")
    settled = text.replace("up_known = false\n", "").replace("grain = 90.0", "grain = 270.0")
    file.write_text(settled, encoding="utf-8")
    told = save_pieces(read_pattern(drawn_front(dxf, saved, shaft)), file, overwrite=True)
    assert told == ("front: its grain stays 270°, as settled by hand, not 90°",)
    (piece,) = tomllib.loads(file.read_text(encoding="utf-8"))["piece"]
    assert (piece["grain"], "up_known" in piece) == (270.0, False)
    head = dxf.line(7, 600, 880, 590, 860)
    told = save_pieces(read_pattern(drawn_front(dxf, saved, shaft, head)), file, overwrite=True)
    assert told == ("front: its grain was 270° and is 90° now, as drawn",)


@pytest.mark.parametrize(
    "change",
    [
        lambda text: text.replace(" 300,", " 301,"),
        lambda text: text.replace("at = [10.0, 10.0]", "at = [12.0, 10.0]"),
        lambda text: text.replace('unit = "mm"', 'unit = "cm"'),
        lambda text: text[: text.index("[[piece.mark]]")],
        lambda text: text.replace("# Checksum", "# "),
        lambda text: text + '[[piece]]\nname = "mine"\ncircle = 30\n',
    ],
    ids=["outline", "mark", "unit", "mark gone", "not ours", "piece"],
)
def test_other_changes_by_hand_are_not_lost(dxf, saved, tmp_path, change):
    file = tmp_path / "pieces.toml"
    save_pieces(read_pattern(drawn_front(dxf, saved)), file)
    changed = change(file.read_text(encoding="utf-8"))
    file.write_text(changed, encoding="utf-8")
    with pytest.raises(WriteError, match=r"by hand|not written by this command"):
        save_pieces(read_pattern(drawn_front(dxf, saved)), file, overwrite=True)
    assert file.read_text(encoding="utf-8") == changed
    assert sorted(os.listdir(tmp_path)) == ["pattern.dxf", "pieces.toml"]


def test_marks_of_a_piece_that_is_gone_are_not_lost(dxf, saved, tmp_path):
    file = tmp_path / "pieces.toml"
    save_pieces(read_pattern(drawn_front(dxf, saved)), file)
    file.write_text(file.read_text(encoding="utf-8") + ADDED, encoding="utf-8")
    other = saved(dxf.file({"back": [dxf.poly(1, dxf.SQUARE)]}))
    with pytest.raises(WriteError, match="added by hand to 'front', which is not in the pattern"):
        save_pieces(read_pattern(other), file, overwrite=True)


def test_a_check_square_of_a_job_is_as_long_as_the_job_says(tmp_path: FilePath) -> None:
    (tmp_path / "flap.svg").write_text(
        '<svg xmlns="http://www.w3.org/2000/svg" width="300mm" height="300mm"'
        ' viewBox="0 0 300 300"><path id="flap" d="M 10 10 h 200 v 80 h -200 z"/>'
        '<rect x="20" y="200" width="50" height="50"/><text x="25" y="225">5 cm</text></svg>'
    )
    text = """
    [job]
    name = "flap"
    unit = "cm"
    [[sheet]]
    name = "felt"
    size = [90, 90]
    [[piece]]
    name = "flap"
    from = "flap.svg"
    file_reference = REFERENCE
    [[cut]]
    piece = "flap"
    material = "felt"
    """
    (check,) = nesting.read_pattern(tmp_path / "flap.svg").checks
    assert (check.name, check.said, check.length) == ("5 cm", 50.0, pytest.approx(50.0))
    assert bounds(check.path)[1::2] == pytest.approx((-250.0, -200.0)), "y runs up"
    job = tmp_path / "job.toml"
    for said in ("5.5", '"55 mm"', '"5 cm=5.5"'):
        job.write_text(text.replace("REFERENCE", said))
        (piece,) = nesting.read_job(job).bags[0].pieces
        assert bounds(piece.cut)[2:] == pytest.approx((220.0, 88.0))
    for wrong in ("0", '"nothing=5"', '"5 cm=long"'):
        job.write_text(text.replace("REFERENCE", wrong))
        with pytest.raises(JobError) as told:
            nesting.read_job(job)
        assert told.value.line is not None
