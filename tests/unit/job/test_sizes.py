"""A job in several sizes: each piece as it is in each, and what can't be."""

from __future__ import annotations

from pathlib import Path

import pytest

from nesting.errors import JobError, NestingError
from nesting.job.file import parse_job
from nesting.job.job import Job
from nesting.pattern.measure import bounds
from nesting.pattern.piece import Piece
from nesting.pattern.shapes import rectangle
from nesting.reading.job_file import read_job
from nesting.writing.handout.sewn_dxf import sewn_dxf

HEAD = '[job]\nname = "Bag"\nsizes = ["S", "M", "L"]\nsize = "M"\n'
GOODS = (
    '[[cloth]]\nname = "canvas"\nwidth = "60 cm"\n[[cut]]\npiece = "front"\nmaterial = "canvas"\n'
)
FRONT = '[[piece]]\nname = "front"\nrectangle = [240, 180]\n'
LARGE = "[piece.in_size.L]\nrectangle = [280, 210]\n"


def size_of(job: Job) -> tuple[float, float]:
    x0, y0, x1, y1 = bounds(job.bags[0].pieces[0].cut)
    return round(x1 - x0, 6), round(y1 - y0, 6)


def test_a_piece_has_in_each_size_what_is_said_there() -> None:
    job = parse_job(HEAD + FRONT + LARGE + GOODS)
    assert (job.sizes, job.size) == (("S", "M", "L"), "M")
    assert [size_of(job.in_size(size)) for size in job.sizes] == [
        (240.0, 180.0),
        (240.0, 180.0),
        (280.0, 210.0),
    ]
    assert size_of(job) == (240.0, 180.0)
    assert size_of(parse_job(HEAD.replace('"M"\n', '"L"\n') + FRONT + LARGE + GOODS)) == (
        280.0,
        210.0,
    )
    first = HEAD.replace('size = "M"\n', "").replace('["S"', '["L"')
    assert parse_job(first.replace(', "L"]', "]") + FRONT + LARGE + GOODS).size == "L"


def test_another_way_to_give_a_shape_takes_the_place_of_the_first() -> None:
    job = parse_job(HEAD + FRONT + "[piece.in_size.S]\ncircle = 100\n" + GOODS)
    assert size_of(job.in_size("S")) == pytest.approx((100.0, 100.0))
    strap = FRONT.replace("rectangle = [240, 180]", "strap = [500, 25]")
    job = parse_job(HEAD + strap + "[piece.in_size.L]\nstrap = [600, 30]\n" + GOODS)
    assert size_of(job) == (500.0, 100.0)
    assert size_of(job.in_size("L")) == (600.0, 120.0)


def test_a_job_without_sizes_is_as_it_was() -> None:
    job = parse_job(HEAD.split("sizes")[0] + FRONT + GOODS)
    assert (job.sizes, job.size, job.graded) == ((), "", ())
    assert job.in_size("") is job


SIDES = {"S": 200.0, "M": 240.0, "L": 280.0}
FROM = '[[piece]]\nname = "front"\nfrom = "bag.dxf"\ngrain = "along"\n'


def drawn(names: dict[str, str]) -> str:
    """Return a sewn-product file with a piece of each name."""
    pieces = [Piece(name=names[s], cut=rectangle(side, 100.0)) for s, side in SIDES.items()]
    return sewn_dxf(pieces, style="bag")


def all_in_one() -> str:
    """Return a sewn-product file that holds a piece in every size."""
    text = drawn({size: f"front{size}" for size in SIDES})
    for size in SIDES:
        # The field of the layer plan that names a block's size (ASTM D6673-10, withdrawn).
        field = f"Piece Name: front{size}"
        start = text.rindex("\nTEXT\n", 0, text.index(field)) + 1
        end = text.index(field) + len(field) + 1
        entity = "0\n" + text[start:end]
        text = text[:end] + entity.replace(field, f"Size: {size}") + text[end:]
        text = text.replace(field, "Piece Name: front")
    return text


def test_a_file_that_holds_all_sizes_is_named_once(tmp_path: Path) -> None:
    (tmp_path / "bag.dxf").write_text(all_in_one())
    job_file = tmp_path / "job.toml"
    job_file.write_text(HEAD + FROM + "sized = true\n" + GOODS)
    job = read_job(job_file)
    assert {s: size_of(job.in_size(s))[0] for s in SIDES} == pytest.approx(SIDES, abs=0.1)
    job_file.write_text(HEAD.replace('"L"', '"XL"') + FROM + "sized = true\n" + GOODS)
    with pytest.raises(NestingError, match=r"there is no size 'XL' in it .*it has S, M, L"):
        read_job(job_file)
    renamed = '[piece.in_size.XL]\nsize = "L"\n'
    job_file.write_text(HEAD.replace('"L"', '"XL"') + FROM + "sized = true\n" + renamed + GOODS)
    assert size_of(read_job(job_file).in_size("XL"))[0] == pytest.approx(280.0, abs=0.1)


def test_pieces_of_a_file_that_have_their_size_in_their_name_are_taken(tmp_path: Path) -> None:
    (tmp_path / "bag.dxf").write_text(drawn({size: f"front {size}" for size in SIDES}))
    names = "\n".join(f'[piece.in_size.{s}]\npiece = "front {s}"' for s in SIDES)
    (tmp_path / "job.toml").write_text(HEAD + FROM + names + "\n" + GOODS)
    job = read_job(tmp_path / "job.toml")
    assert {s: size_of(job.in_size(s))[0] for s in SIDES} == pytest.approx(SIDES, abs=0.1)


@pytest.mark.parametrize(
    ("text", "says", "where"),
    [
        (HEAD.replace('size = "M"', 'size = "XL"') + FRONT, 'no size is named "XL"', "job.size"),
        (HEAD.replace('"L"', '"m"') + FRONT, "two sizes have one name", "job.sizes"),
        (HEAD.replace("sizes", "#") + FRONT, "the job has no sizes", "job.size"),
        (
            HEAD + FRONT + LARGE.replace(".L", ".XS"),
            'no size is named "XS"',
            "piece.front.in_size.XS",
        ),
        (HEAD.split("sizes")[0] + FRONT + LARGE, "the job has no sizes", "piece.front.in_size"),
        (HEAD + FRONT + "sized = true\n", "not from a pattern file", "piece.front.sized"),
        (
            HEAD + FRONT + '[piece.in_size.L]\npiece = "front, large"\n',
            "the piece is not from a pattern file",
            "piece.front.in_size.L",
        ),
        (
            HEAD + FRONT.replace("rectangle = [240, 180]", 'from = "bag.dxf"') + LARGE,
            "has its shape from there in every size (say only piece, size of it)",
            "piece.front.in_size.L",
        ),
        (
            HEAD + FRONT + "[piece.in_size.L]\nrectangle = [0, 210]\n",
            "0",
            "piece.front.in_size.L.rectangle",
        ),
    ],
)
def test_what_is_wrong_with_sizes_is_told_in_one_line(text: str, says: str, where: str) -> None:
    with pytest.raises(NestingError) as error:
        parse_job(text + GOODS, file="bag.toml")
    assert isinstance(error.value, JobError)
    assert says in str(error.value)
    assert where in str(error.value)
    assert "\n" not in str(error.value)
    assert error.value.line is not None
