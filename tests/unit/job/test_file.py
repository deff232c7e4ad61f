from __future__ import annotations

import json
import math
from pathlib import Path as FilePath

import pytest

from nesting.errors import JobError, PatternError
from nesting.job.desk import Request
from nesting.job.file import job_schema, parse_job, read_job
from nesting.job.job import Job
from nesting.material.material import Cloth, Fold, Hides, Nap, SheetGoods
from nesting.pattern.path import Path
from nesting.pattern.piece import Face, Hand, MarkKind, NotchStyle, Piece
from nesting.pattern.polygon import piece_polygon, polygon

SAMPLES = FilePath(__file__).parents[3] / "sample_markers"

HEAD = '[job]\nname = "Test"\n'
CLOTH = '[[cloth]]\nname = "canvas"\nwidth = "140 cm"\n'
CUT = '[[cut]]\npiece = "p"\nmaterial = "canvas"\n'


def job(body: str, *, head: str = HEAD, cloth: str = CLOTH, cut: str = CUT) -> Job:
    return parse_job(f"{head}\n{body}\n{cloth}\n{cut}")


def piece(body: str, *, head: str = HEAD) -> Piece:
    return job(f'[[piece]]\nname = "p"\n{body}', head=head).bags[0].pieces[0]


@pytest.mark.parametrize(
    ("shape", "area"),
    [
        ('rectangle = ["10 cm", "5 cm"]', 5000.0),
        ('rectangle = ["10 cm", "5 cm"]\ncorner_radius = "1 cm"', 5000.0 - (4 - math.pi) * 100),
        ('circle = "10 cm"', math.pi * 2500),
        ('ellipse = ["10 cm", "5 cm"]', math.pi * 50 * 25),
        ("points = [[0, 0], [100, 0], [0, 50]]", 2500.0),
        ("points = [[0, 0], [0, 50], [100, 0]]", 2500.0),
        ('outline = "M 0,0 L 100,0 A 50,50 0 0,1 0,0 Z"', math.pi * 1250),
        ('outline = "M0 0h100v50h-100z"', 5000.0),
        ('outline = "M0 0h100v50h-100z M10 10h10v10h-10z"', 4900.0),
        ('circle = "10 cm"\n[[piece.hole]]\ncircle = 20', math.pi * 2400),
    ],
)
def test_shapes(shape: str, area: float) -> None:
    found = piece(shape)
    assert piece_polygon(found).area == pytest.approx(area, rel=1e-4)
    assert polygon(found.cut).exterior.is_ccw


def test_unit_of_the_job() -> None:
    head = '[job]\nname = "Test"\nunit = "in"\n'
    assert piece('rectangle = [4, "5 cm"]', head=head).cut.points(1)[2] == (101.6, 50.0)
    (cloth,) = job('[[piece]]\nname = "p"\ncircle = 3', head=head).materials
    assert isinstance(cloth, Cloth)
    assert cloth.step == pytest.approx(914.4 / 8)


def test_cutting_and_sewing_line() -> None:
    sewn = piece('rectangle = [100, 50]\nline = "sewing"\nseam_allowance = 10')
    assert polygon(sewn.cut).bounds == pytest.approx((-10, -10, 110, 60))
    assert sewn.sew is not None
    assert polygon(sewn.sew).bounds == (0, 0, 100, 50)
    cut = piece("rectangle = [100, 50]\nseam_allowance = { all = 10, top = 25, 4 = 0 }")
    assert cut.sew is not None
    assert polygon(cut.cut).bounds == (0, 0, 100, 50)
    assert polygon(cut.sew).bounds == pytest.approx((0, 10, 90, 25))
    assert piece("rectangle = [100, 50]").sew is None


def test_default_allowance_is_told() -> None:
    found = job('[[piece]]\nname = "p"\nrectangle = [100, 50]\nline = "sewing"')
    assert any("p: seam allowance 10 mm" in sentence for sentence in found.assumptions)


@pytest.mark.parametrize("fold", ['"left"', "4", "[[0, 0], [0, 50]]"])
def test_half_pieces_are_opened(fold: str) -> None:
    found = piece(f"rectangle = [100, 50]\nseam_allowance = 10\nfold_edge = {fold}")
    assert polygon(found.cut).bounds == pytest.approx((-100, 0, 100, 50))
    assert found.sew is not None
    assert polygon(found.sew).bounds == pytest.approx((-90, 10, 90, 40))
    assert found.fold is not None
    assert {point[0] for point in found.fold} == {0.0}


def test_a_notch_on_the_fold_is_refused_before_anything_is_laid() -> None:
    half = 'rectangle = [100, 50]\nfold_edge = 4\n[[piece.mark]]\nkind = "notch"\nat = '
    assert piece(f"{half}[100, 25]").marks
    assert piece(f"{half}[0, 50]").marks  # where the fold ends it is cut
    with pytest.raises(JobError, match=r"mark.*notch lies on the fold, inside the opened piece"):
        piece(f"{half}[0, 25]")


@pytest.mark.parametrize(
    ("word", "degrees"), [('"along"', 0), ('"across"', 90), ('"bias"', 45), ("30", 30)]
)
def test_grain(word: str, degrees: float) -> None:
    assert piece(f"circle = 50\ngrain = {word}").grain == degrees


def test_marks() -> None:
    found = piece(
        """
rectangle = [100, 50]
[[piece.mark]]
kind = "notch"
at = [50, 0.4]
style = "v"
width = 4
[[piece.mark]]
kind = "drill"
at = ["2 cm", "2 cm"]
size = "3 mm"
copies = 1
hands = "left"
materials = ["canvas"]
face = "wrong"
[[piece.mark]]
kind = "line"
points = [[10, 10], [90, 10], [90, 40]]
[[piece.mark]]
kind = "outline"
circle = 20
at = [50, 25]
[[piece.mark]]
kind = "text"
text = "up"
at = [50, 40]
angle = 90
"""
    )
    notch, drill, line, outline, text = found.marks
    assert (notch.at, notch.style, notch.width) == ((50.0, 0.0), NotchStyle.V, 4.0)
    assert (drill.at, drill.size, drill.copies) == ((20.0, 20.0), 3.0, frozenset({1}))
    assert (drill.hands, drill.face) == (frozenset({Hand.LEFT}), Face.WRONG)
    assert drill.materials == frozenset({"canvas"})
    assert line.path is not None
    assert not line.path.closed
    assert line.kind is MarkKind.LINE
    assert outline.path is not None
    assert outline.path.closed
    assert (text.text, text.angle, text.size) == ("up", 90.0, 6.0)


def cloth(body: str) -> Cloth:
    text = f'[[cloth]]\nname = "canvas"\n{body}'
    (found,) = job('[[piece]]\nname = "p"\ncircle = 50', cloth=text).materials
    assert isinstance(found, Cloth)
    return found


def test_cloth_defaults_are_told() -> None:
    found = job('[[piece]]\nname = "p"\ncircle = 50')
    (canvas,) = found.materials
    assert isinstance(canvas, Cloth)
    assert canvas.widths[0].usable == 1380.0
    assert (canvas.ends, canvas.step, canvas.spacing, canvas.nap) == (10, 100, 2, Nap.NONE)
    told = " ".join(found.assumptions)
    for word in (
        "turned by 180°",
        "2 mm apart",
        "selvedges of 10 mm",
        "10 cm",
        "not shrink",
        "end",
    ):
        assert word in told
    assert len(found.assumptions) == len(set(found.assumptions))


def test_nothing_is_assumed_where_all_is_said() -> None:
    found = parse_job(
        """
[job]
name = "Test"
bags = 1
[[piece]]
name = "p"
circle = 50
line = "cutting"
grain = 0
[[cloth]]
name = "canvas"
width = "140 cm"
selvedge = 0
nap = "none"
spacing = 0
ends = 0
step = 100
shrinkage = 0
[[cut]]
piece = "p"
material = "canvas"
"""
    )
    assert found.assumptions == ()


def test_a_material_without_use_is_told() -> None:
    spare = CLOTH.replace("canvas", "silk")
    found = job('[[piece]]\nname = "p"\ncircle = 50', cloth=CLOTH + spare)
    assert "silk: nothing is cut from it" in found.assumptions


def test_widths_and_prices() -> None:
    found = cloth(
        'widths = ["90 cm", { booked = "1.4 m", usable = "137 cm", price = 12 }]\nprice = 9'
    )
    assert [(w.booked, w.usable, w.price) for w in found.widths] == [
        (900, 880, 9),
        (1400, 1370, 12),
    ]
    yard = cloth('width = "45 in"\nprice = 9.144\nprice_per = "yd"')
    assert yard.widths[0].price == pytest.approx(10.0)


def test_shrinkage_print_fold() -> None:
    both = cloth('width = 1000\nshrinkage = "5 %"').shrinkage
    assert (both.along, both.across, both.cut_larger) == (0.05, 0.05, False)
    one = cloth("width = 1000\nshrinkage = { along = 0.04, cut_larger = true }").shrinkage
    assert (one.along, one.across, one.cut_larger) == (0.04, 0.0, True)
    printed = cloth('width = 1000\nprint = { along = "64 cm", across = "32 cm", drop = "50 %" }')
    assert printed.print is not None
    assert (printed.print.along, printed.print.across, printed.print.drop) == (640, 320, 0.5)
    assert printed.nap is Nap.ONE_WAY
    told = cloth('width = 1000\nfold = "folded"\nfold_print = true\nprint = { along = 50 }')
    assert told.fold is Fold.FOLDED


def test_sheets_and_remnants() -> None:
    text = """
[[sheet]]
name = "canvas"
size = ["60 cm", "90 cm"]
count = 4
    [[sheet.remnant]]
    name = "rest 1"
    rectangle = [300, 200]
[[remnant]]
name = "rest 2"
material = "canvas"
outline = "M0 0h300v200h-300z M100 50h50v50h-50z"
"""
    (found,) = job('[[piece]]\nname = "p"\ncircle = 50', cloth=text).materials
    assert isinstance(found, SheetGoods)
    assert (found.length, found.width, found.count) == (600, 900, 4)
    assert [remnant.name for remnant in found.remnants] == ["rest 1", "rest 2"]
    assert len(found.remnants[1].holes) == 1


def test_leather() -> None:
    text = """
[[leather]]
name = "canvas"
price = 92.90304
price_per = "ft²"
substance = "chrome-tanned leather"
    [[leather.hide]]
    name = "hide 1"
    backbone = 90
    points = [[0, 0], [900, 0], [1000, 700], [100, 900]]
        [[leather.hide.flaw]]
        circle = 40
        at = [400, 300]
        [[leather.hide.zone]]
        name = "butt"
        grade = "A"
        rectangle = [400, 400]
        at = [200, 100]
        tight = 90
        slack = 20
"""
    (found,) = job('[[piece]]\nname = "p"\ncircle = 50', cloth=text).materials
    assert isinstance(found, Hides)
    assert found.nap is Nap.ANY
    assert found.price == pytest.approx(1000.0)
    (hide,) = found.hides
    assert (hide.backbone, len(hide.flaws), hide.zones[0].tight) == (90, 1, 90)
    assert hide.zones[0].slack == 20


def test_cutting_list_notions_and_table() -> None:
    cut = """
[[cut]]
piece = "p"
material = ["canvas"]
copies = 2
pairs = true
nap = "any"
grain = "across"
turn_slack = 3
mates = true
[[notion]]
name = "zip"
quantity = 2
unit = "piece"
price = 1.5
[table]
length = "3 m"
plies = 8
spreading = "face to face"
"""
    found = job('[[piece]]\nname = "p"\ncircle = 50', cut=cut)
    (line,) = found.bags[0].cuts
    assert (line.copies, line.pairs, line.nap, line.grain) == (2, True, Nap.ANY, 90.0)
    assert (line.turn_slack, line.mates, line.mate) == (3.0, True, None)
    (zip_,) = found.bags[0].notions
    assert (zip_.name, zip_.quantity, zip_.unit, zip_.price) == ("zip", 2.0, "piece", 1.5)
    assert (found.table.length, found.table.plies) == (3000.0, 8)
    assert found.table.spreading == "face to face"


DESIGN = """
[job]
name = "Pouch"

[[piece]]
name = "front"
rectangle = [200, 150]

    [[piece.mark]]
    kind = "drill"
    at = [50, 50]
    materials = "outer"

[[cloth]]
name = "lining"
width = "110 cm"

[[cut]]
piece = "front"
material = ["outer", "lining"]
"""

ORDER = """
[job]
name = "Order"

[[cloth]]
name = "olive"
width = "140 cm"

[[cloth]]
name = "sand"
width = "140 cm"

[[bag]]
name = "olive pouch"
file = "pouch.toml"
count = 4
materials = { outer = "olive" }

[[bag]]
name = "sand pouch"
file = "pouch.toml"
count = 2
materials = { outer = "sand" }

[[bag]]
name = "strap"
[[bag.piece]]
name = "strap"
rectangle = [600, 40]
[[bag.cut]]
piece = "strap"
material = "sand"
"""


def test_orders_of_several_bags(tmp_path: FilePath) -> None:
    (tmp_path / "pouch.toml").write_text(DESIGN, encoding="utf-8")
    path = tmp_path / "order.toml"
    path.write_text(ORDER, encoding="utf-8")
    found = read_job(path)
    assert [m.name for m in found.materials] == ["olive", "sand", "lining"]
    olive, sand, strap = found.bags
    assert (olive.count, sand.count, strap.count) == (4, 2, 1)
    assert [cut.material for cut in olive.cuts] == ["olive", "lining"]
    assert [cut.material for cut in sand.cuts] == ["sand", "lining"]
    assert olive.pieces[0].marks[0].materials == frozenset({"olive"})
    assert olive.colourway == (("outer", "olive"),)
    assert ("piece.front", str(tmp_path / "pouch.toml"), 5) in found.places


@pytest.mark.parametrize(
    ("old", "new", "says"),
    [
        ('outer = "olive"', 'outre = "olive"', 'did you mean "outer"?'),
        ('outer = "olive"', 'outer = "oliv"', 'did you mean "olive"?'),
        ('materials = { outer = "olive" }', "", 'no material is named "outer"'),
        ('file = "pouch.toml"', 'file = "none.toml"', "none.toml: there is no such file"),
        ('file = "pouch.toml"', 'file = "order.toml"', "can't list bags itself"),
        ('name = "sand pouch"', 'name = "Olive Pouch"', "same file name"),
        ('name = "Order"', 'name = "Order"\nbags = 2', "their own counts"),
        ("count = 4", "count = 0", "at least 1"),
        ("[[bag]]", '[[notion]]\nname = "zip"\n\n[[bag]]', "are not used by any bag"),
    ],
)
def test_bad_orders(tmp_path: FilePath, old: str, new: str, says: str) -> None:
    (tmp_path / "pouch.toml").write_text(DESIGN, encoding="utf-8")
    path = tmp_path / "order.toml"
    path.write_text(ORDER.replace(old, new, 1), encoding="utf-8")
    with pytest.raises(JobError) as caught:
        read_job(path)
    assert says in str(caught.value)
    assert caught.value.file
    assert caught.value.line


def test_colourways_of_the_files_own_bag() -> None:
    text = DESIGN + ORDER[ORDER.index("[[cloth]]") : ORDER.index('[[bag]]\nname = "strap"')]
    found = parse_job(text.replace('file = "pouch.toml"', ""))
    assert [bag.cuts[0].material for bag in found.bags] == ["olive", "sand"]
    assert found.bags[0].pieces[0].cut == found.bags[1].pieces[0].cut


def test_include(tmp_path: FilePath) -> None:
    """Pieces and stock come from other files, lengths there in that file's own unit."""
    (tmp_path / "pieces.toml").write_text(
        'unit = "cm"\n[[piece]]\nname = "p"\nrectangle = [10, 5]\n', encoding="utf-8"
    )
    (tmp_path / "stock.toml").write_text(
        '[at_hand]\n"foam" = 3\n[[remnant]]\nname = "r"\nmaterial = "foam"\ncircle = 300\n'
        '[[remnant]]\nname = "s"\nmaterial = "else"\ncircle = 300\n[book]\ncut = ["abc"]\n',
        encoding="utf-8",
    )
    path = tmp_path / "job.toml"
    foam = '[[sheet]]\nname = "foam"\nsize = [500, 500]\n'
    path.write_text(
        f'include = ["pieces.toml", "stock.toml"]\n{HEAD}{CLOTH}{foam}{CUT}', encoding="utf-8"
    )
    found = read_job(path)
    assert polygon(found.bags[0].pieces[0].cut).bounds == (0, 0, 100, 50)
    sheet = found.materials[1]
    assert isinstance(sheet, SheetGoods)
    assert [remnant.name for remnant in sheet.remnants] == ["r"]


def test_pieces_from_pattern_files(tmp_path: FilePath) -> None:
    """The caller reads pattern files; the job's table adds to what they say."""
    asked: list[Request] = []

    def resolver(request: Request) -> Piece:
        asked.append(request)
        if request.piece == "missing":
            raise PatternError("no such piece", hint="there are: A, B")
        square = Path.polyline([(0, 0), (100, 0), (100, 100), (0, 100)], closed=True)
        return Piece(name=request.piece, cut=square, grain=90.0)

    body = (
        '[[piece]]\nname = "p"\nfrom = "bag.dxf"\npiece = "A"\nfile_unit = "in"\nseam_allowance = 8'
    )
    path = tmp_path / "job.toml"
    path.write_text(f"{HEAD}{body}\n{CLOTH}{CUT}", encoding="utf-8")
    (found,) = read_job(path, resolver=resolver).bags[0].pieces
    assert asked == [Request(file=tmp_path / "bag.dxf", piece="A", unit="in")]
    assert (found.name, found.grain) == ("p", 90.0)
    assert found.sew is not None
    assert polygon(found.sew).bounds == pytest.approx((8, 8, 92, 92))
    path.write_text(path.read_text(encoding="utf-8").replace('"A"', '"missing"'), encoding="utf-8")
    with pytest.raises(JobError, match=r"no such piece \(there are: A, B\)") as caught:
        read_job(path, resolver=resolver)
    assert (caught.value.field, caught.value.line) == ("piece.p.from", 5)


def test_schema_is_json_and_knows_every_key() -> None:
    schema = json.loads(json.dumps(job_schema()))
    assert schema["$schema"].endswith("2020-12/schema")
    assert set(schema["required"]) == {"job"}
    assert {"piece", "cloth", "sheet", "leather", "cut", "bag"} <= set(schema["properties"])
    piece_table = schema["$defs"]["PieceTable"]
    assert piece_table["additionalProperties"] is False
    assert "from" in piece_table["properties"]
    for table in schema["$defs"].values():
        for key, value in table["properties"].items():
            assert value.get("description"), f"{table['title']}.{key} is not described"


JOBS = [p for p in sorted(SAMPLES.glob("*/*.toml")) if "[job]" in p.read_text(encoding="utf-8")]


@pytest.mark.parametrize("path", JOBS, ids=lambda path: path.stem)
def test_samples_are_read(path: FilePath) -> None:
    assert read_job(path).bags
