"""Files made to do harm are refused in one line, soon, in little memory, without a trace."""

from __future__ import annotations

import math
import os
import random
import socket

import pytest

from nesting.errors import PatternError
from nesting.pattern.measure import area
from nesting.reading.dxf import splines
from nesting.reading.dxf.text import text_lines
from nesting.reading.read import read_pattern
from tests.unit.reading.refused import one_line_or_none, refusal

SVG = '<svg xmlns="http://www.w3.org/2000/svg" width="500mm" height="500mm" viewBox="0 0 500 500">'
RECT = '<rect width="300" height="200"/>'


@pytest.fixture(autouse=True)
def nothing_is_fetched_or_written(monkeypatch, tmp_path):
    def refuse(*_args, **_kwargs):
        raise AssertionError("the reader went to the network")

    monkeypatch.setattr(socket, "socket", refuse)
    monkeypatch.setattr(socket, "create_connection", refuse)
    monkeypatch.chdir(tmp_path)
    yield
    assert set(os.listdir(tmp_path)) <= {"pattern.dxf", "pattern.svg"}


def bomb() -> str:
    lines = ['<!ENTITY a0 "ha">'] + [f'<!ENTITY a{i} "{f"&a{i - 1};" * 10}">' for i in range(1, 12)]
    return f"<!DOCTYPE svg [{''.join(lines)}]>{SVG}<text>&a11;</text>{RECT}</svg>"


@pytest.mark.parametrize(
    ("text", "told"),
    [
        (bomb(), "entities or outside references"),
        (
            f'<!DOCTYPE svg [<!ENTITY a "{"x" * 5000}">]>{SVG}<text>{"&a;" * 50}</text></svg>',
            "entities or outside references",
        ),
        (
            f'<!DOCTYPE svg [<!ENTITY a SYSTEM "file:///etc/passwd">]>{SVG}<text>&a;</text></svg>',
            "entities or outside references",
        ),
        (
            '<!DOCTYPE svg [<!ENTITY % p SYSTEM "http://127.0.0.1/x.dtd"> %p;]>' + SVG + "</svg>",
            "entities or outside references",
        ),
        (SVG + '<use href="http://127.0.0.1/a.svg#b"/></svg>', "refers to another file"),
        (SVG + '<use href="other.svg#b"/></svg>', "refers to another file"),
        (SVG + '<use href="file:///etc/passwd#b"/></svg>', "refers to another file"),
        (SVG + '<g id="a"><use href="#a"/></g></svg>', "used inside itself"),
        (
            SVG + '<g id="a"><use href="#b"/></g><g id="b"><use href="#a"/></g></svg>',
            "used inside itself",
        ),
        (SVG + "<g>" * 3000 + RECT + "</g>" * 3000 + "</svg>", "too deep"),
        (SVG + RECT, "not well-formed XML"),
        ("<html><body/></html>", "not SVG"),
        ('<?xml version="1.0" encoding="klingon"?><svg/>', "coding of the XML file"),
        (SVG + '<path d="M0 0 L nan 3 z"/></svg>', "path data"),
        (SVG + '<path d="M0 0 L 1e999 3 z"/></svg>', "too large"),
        (SVG + '<path d="M0 0 L 1e200 3 L 3 3 z"/></svg>', "not a usable number"),
        (SVG.replace("500mm", "1e400mm") + RECT + "</svg>", "is not a length"),
        (SVG.replace("500mm", "-5mm") + RECT + "</svg>", "not more than 0"),
    ],
)
def test_svg_that_means_harm(saved, text, told):
    assert told in refusal(saved(text, "pattern.svg"))


def test_use_that_multiplies(saved):
    """Ten uses of ten uses of ten uses…: 10⁹ rectangles."""
    groups = ['<g id="g0">' + RECT + "</g>"]
    for i in range(1, 10):
        uses = f'<use href="#g{i - 1}"/>' * 10
        groups.append(f'<g id="g{i}">{uses}</g>')
    text = SVG + "<defs>" + "".join(groups) + '</defs><use href="#g9"/></svg>'
    assert "more than 100,000 things" in refusal(saved(text, "pattern.svg"))


@pytest.mark.parametrize("kind", ["path", "polygon"])
def test_an_svg_outline_of_a_million_points(saved, kind):
    points = " ".join(f"{i % 977},{i % 991}" for i in range(1_000_000))
    shape = f'<path d="M{points}z"/>' if kind == "path" else f'<polygon points="{points}"/>'
    text = refusal(saved(SVG + shape + "</svg>", "pattern.svg"))
    assert "at most 100,000" in text or "more than 100,000" in text


@pytest.mark.parametrize(
    ("count", "told"),
    [(1_000_000, "more than 2,000,000 things"), (400_000, "an outline of 400,000 points")],
)
def test_a_dxf_outline_of_a_million_points(dxf, saved, count, told):
    vertices = "".join(f"10\n{i % 977}\n20\n{i % 991}\n" for i in range(count))
    outline = f"0\nLWPOLYLINE\n8\ncut\n90\n{count}\n70\n1\n{vertices}"
    end = "0\nENDSEC\n0\nEOF\n"
    assert told in refusal(saved(dxf.file({}).replace(end, outline + end)))


def test_a_crowd_of_loose_lines(dxf, saved):
    lines = [dxf.line(1, 0, 0, i % 400, 1 + i % 300) for i in range(60_000)]
    assert "more than 50,000 loose lines" in refusal(saved(dxf.file({"A": lines})))


def test_a_crowd_of_lines_to_draw(dxf, saved):
    lines = [dxf.line(8, 9, 9, 10 + i % 300, 50 + i % 200) for i in range(5_001)]
    told = refusal(saved(dxf.file({"A": [dxf.poly(1, dxf.SQUARE), *lines]})))
    assert "more than 5,000 lines and marks" in told


def test_an_old_dxf_outline_of_many_points(dxf, saved):
    points = [(i % 977, i % 991) for i in range(150_000)]
    assert "an outline of 150,000 points" in refusal(saved(dxf.file({"A": [dxf.poly(1, points)]})))


@pytest.mark.parametrize("value", ["nan", "inf", "-inf", "1e400", "abc", "", "1e30"])
@pytest.mark.parametrize("kind", ["LINE", "VERTEX", "POINT"])
def test_numbers_that_are_none(dxf, saved, value, kind):
    content = {
        "LINE": [dxf.poly(1, dxf.SQUARE), dxf.line(8, 0, value, 3, 4)],
        "VERTEX": [dxf.poly(1, [*dxf.SQUARE, (value, 3)])],
        "POINT": [dxf.poly(1, dxf.SQUARE), dxf.point(4, value, 0)],
    }[kind]
    path = saved(dxf.file({"A": content}))
    if kind == "POINT" and value == "1e30":
        pattern = read_pattern(path)
        assert any("off the edge" in f.text for f in pattern.findings)
    else:
        assert "not a usable number" in refusal(path)


def test_blocks_that_contain_themselves(dxf, saved):
    itself = {"A": [dxf.poly(1, dxf.SQUARE), dxf.insert("A")]}
    assert "contains itself" in refusal(saved(dxf.file(itself)))
    ring = {
        "A": [dxf.poly(1, dxf.SQUARE), dxf.insert("B")],
        "B": [dxf.insert("C")],
        "C": [dxf.insert("A")],
    }
    assert "contains itself" in refusal(saved(dxf.file(ring)))


def test_blocks_that_multiply(dxf, saved):
    blocks = {"B0": [dxf.poly(1, dxf.SQUARE)]}
    for i in range(1, 12):
        blocks[f"B{i}"] = [dxf.insert(f"B{i - 1}")] * 10
    assert "more than 2,000,000 things" in refusal(saved(dxf.file(blocks)))


def test_rows_and_columns_without_end(dxf, saved):
    content = {"A": [dxf.poly(1, dxf.SQUARE)]}
    place = dxf.insert("A", 70, 30000, 71, 30000, 44, 1.0, 45, 1.0)
    assert "more than" in refusal(saved(dxf.file(content, [place], insert=False)))


def test_a_dxf_that_ends_in_the_middle(dxf, saved):
    text = dxf.file({"A": [dxf.poly(1, dxf.SQUARE)], "B": [dxf.poly(1, dxf.SQUARE)]})
    for share in (0.2, 0.5, 0.8, 0.97):
        told = refusal(saved(text[: int(share * len(text))]))
        assert "ends in the middle" in told or "not a usable number" in told


@pytest.mark.parametrize(
    ("data", "told"),
    [
        (b"", "the file is empty"),
        (b"   \n\n", "the file is empty"),
        (bytes(range(256)) * 40, "not a DXF file"),
        (b"\x89PNG\r\n\x1a\n" + bytes(200), "the picture is broken"),
        (b"PK\x03\x04 hello", "not a DXF file"),
        (b"hello world\nthis is text\n", "not a DXF file"),
        (b"1\n2\n3\n4\n", "not a DXF file"),
        (b"0\nSECTION\n2\nENTITIES\nx\ny\n", "a group code was expected, found 'x'"),
        (b"0\nEOF\n", "does not begin with a section"),
        (b"AutoCAD Binary DXF\r\n\x1a\x00" + bytes(range(256)), "binary DXF file is damaged"),
        (b"0\nSECTION\n2\nENTITIES\n0\nENDSEC\n0\nEOF\n", "no outline in the file"),
    ],
)
def test_rubbish(saved, data, told):
    assert told in refusal(saved(data))


def test_any_bytes_at_all(saved):
    """Damaged copies of a good file are read or refused, never a crash."""
    random_bytes = random.Random(7)
    for size in (1, 10, 1000, 20_000):
        assert refusal(saved(random_bytes.randbytes(size)))


@pytest.mark.parametrize("seed", range(12))
def test_damaged_copies_of_a_good_file(dxf, saved, seed):
    rng = random.Random(seed)
    content = [dxf.poly(1, dxf.SQUARE), dxf.line(7, 0, 0, 9, 0), dxf.point(4, 50, 0, 30, 5)]
    good = dxf.file({"A": content, "B": content}).encode()
    for _ in range(40):
        data = bytearray(good)
        for _ in range(rng.randint(1, 6)):
            at = rng.randrange(len(data))
            if rng.random() < 0.5:
                data[at] = rng.randrange(256)
            else:
                del data[at : at + rng.randint(1, 30)]
        assert one_line_or_none(saved(bytes(data)))


@pytest.mark.parametrize("seed", range(6))
def test_damaged_copies_of_a_good_svg(saved, seed):
    rng = random.Random(seed)
    good = (
        SVG + '<g id="a" transform="translate(3 4) scale(2)"><path d="M0 0h30a9 9 0 0 1 3 3v40z"/>'
        '<circle class="drill" r="2"/><use href="#b" x="3"/></g><rect id="b" width="3" height="4"/>'
        "<text x='3' y='5'>hello</text></svg>"
    ).encode()
    for _ in range(40):
        data = bytearray(good)
        for _ in range(rng.randint(1, 4)):
            data[rng.randrange(len(data))] = rng.randrange(32, 127)
        assert one_line_or_none(saved(bytes(data), "pattern.svg"))


def test_files_that_are_none(tmp_path):
    with pytest.raises(PatternError, match="no such file"):
        read_pattern(tmp_path / "none.dxf")
    with pytest.raises(PatternError, match="this is a folder"):
        read_pattern(tmp_path)
    with pytest.raises(PatternError, match="not an ordinary file"):
        read_pattern("/dev/zero")
    with pytest.raises(PatternError, match=r"can't be read|no such file"):
        read_pattern("a\0b.dxf")


def test_a_file_that_is_far_too_large(tmp_path):
    path = tmp_path / "pattern.dxf"
    with path.open("wb") as file:
        file.truncate(60_000_000)
    assert "larger than 40 MB" in refusal(path)


def spline(count: int, **more: object) -> list[object]:
    """Return a spline round a circle: `count` control points or, with `fit`, points on it."""
    tags: list[object] = [0, "SPLINE", 8, "cut", 70, 8, 71, more.get("degree", 3)]
    for i in range(count):
        x, y = 500 * math.cos(6.28 * i / count), 500 * math.sin(6.28 * i / count)
        tags += [41, 1 + i % 2] if "weights" in more else []
        tags += [11, x, 21, y] if "fit" in more else [10, x, 20, y]
    return tags


@pytest.mark.parametrize(
    "more", [{}, {"weights": True}, {"fit": True}, {"degree": 5}], ids=lambda m: str(*m)
)
def test_a_spline_of_crowds_of_points(dxf, saved, more):
    told = refusal(saved(dxf.file({}, [spline(5001, **more)], units=None)))
    assert "a spline of 5,001 points" in told


def test_a_spline_of_no_degree(dxf, saved):
    told = refusal(saved(dxf.file({}, [spline(30, degree=29)], units=None)))
    assert "a spline can't be made of these numbers" in told


def test_crowds_of_splines(dxf, saved, monkeypatch):
    monkeypatch.setattr(splines, "MOST_BITS", 100)
    told = refusal(saved(dxf.file({}, [spline(40)] * 4, units=None)))
    assert "the file's splines are of too many bits" in told


def test_a_weighted_spline_is_the_circle_that_it_is(dxf, saved):
    """A quarter of a circle is a rational Bézier curve with weights 1, √½, 1."""
    quarter = [0, "SPLINE", 8, "cut", 70, 4, 71, 2]
    for knot in (0, 0, 0, 1, 1, 1):
        quarter += [40, knot]
    for x, y, weight in ((500, 0, 1), (500, 500, math.sqrt(0.5)), (0, 500, 1)):
        quarter += [41, weight, 10, x, 20, y]
    lines = [dxf.line("cut", 0, 500, 0, 0), dxf.line("cut", 0, 0, 500, 0)]
    pattern = read_pattern(saved(dxf.file({}, [quarter, *lines], units=None)), unit="mm")
    (found,) = pattern.found
    assert area(found.piece.cut) == pytest.approx(math.pi * 500**2 / 4, rel=1e-6)


@pytest.mark.parametrize(
    "text", ["{" * 200_000, "{\\fArial;" * 60_000, "\\f" * 200_000, "\\" * 99_999]
)
def test_a_text_of_nothing_but_formatting(dxf, saved, text):
    mtext = [0, "MTEXT", 8, "text", 10, 20, 20, 20, 40, 5, 1, text]
    pattern = read_pattern(saved(dxf.file({}, [dxf.poly("cut", dxf.SQUARE), mtext])), unit="mm")
    assert len(pattern.found) == 1


@pytest.mark.parametrize(
    ("written", "read"),
    [
        (r"{\fArial|b1;Front} \PCut 2", ("Front", "Cut 2")),
        (r"\A1;\H2.5x;a\~b \\ \{c\}", ("a b \\ {c}",)),
        (r"\S1#2;in \Lx\l", ("1/2in x",)),
        ("%%uFront%%u 30%%d %%c5 %%0651", ("Front 30° Ø5 A1",)),
        ("%%027[31m ^I", ("[31m",)),
    ],
)
def test_formatting_is_taken_off_a_text(written, read):
    """DXF reference, format codes of MTEXT and control codes of TEXT."""
    assert text_lines(written, several=True) == read


def test_half_a_character_is_replaced(dxf, saved):
    content = [dxf.poly(1, dxf.SQUARE), dxf.text(r"Material: \U+D800\U+D83D\U+DE00")]
    (found,) = read_pattern(saved(dxf.file({"A": content}))).found
    assert found.material == "\ufffd\U0001f600"


ARCS = " ".join(f"A 5 5 0 0 1 {i % 300} {i % 299 + 1}" for i in range(1, 5010))
WIDE = " ".join(f"A 400 400 0 1 1 {i % 300} {i % 299 + 1}" for i in range(1, 200))


@pytest.mark.parametrize(
    ("data", "told"),
    [
        (f"M0 0 {ARCS} Z", "curves, at most 5,000 are read"),
        (f"M0 0 {WIDE} Z", "chords stand for them"),
    ],
    ids=["curves", "chords"],
)
def test_crowds_of_curves(saved, data, told):
    assert told in refusal(saved(f'{SVG}<path d="{data}"/></svg>', "pattern.svg"))


def test_cut_outs_that_overlap_are_refused(saved):
    holes = '<g class="hole"><rect x="20" y="20" width="50" height="50"/></g>'
    shapes = f'<g id="a">{RECT}{holes}{holes.replace("20", "40")}</g>'
    told = refusal(saved(f"{SVG}{shapes}</svg>", "pattern.svg"))
    assert "cut-outs overlap" in told
