"""Diagrams of lays: what is written beside the cloth is whole, in one row or several."""

from __future__ import annotations

import pytest
from shapely import box, unary_union

from nesting.job.file import parse_job
from nesting.planning.handout.needed import needs
from nesting.writing.handout.lay_pages import _captions, _set, figure
from nesting.writing.handout.numbered import numbered
from nesting.writing.handout.setting import BODY, Setter
from nesting.writing.neutral.font import text_width
from nesting.writing.neutral.keys import job_keys
from nesting.writing.neutral.lettering import text_box
from nesting.writing.paper.papers import PAPERS

STRIPS = """
[job]
name = "Invented straps"
[[cloth]]
name = "webbing cloth"
width = "20 cm"
spacing = 0
selvedge = 0
[[piece]]
name = "a strap that has quite a long name"
rectangle = ["90 cm", "15 mm"]
line = "cutting"
grain = "along"
[[cut]]
piece = "a strap that has quite a long name"
material = "webbing cloth"
copies = 39
"""


def test_names_beside_a_lay_of_several_rows_lie_in_them() -> None:
    job = parse_job(STRIPS)
    found = needs(job, widths=(200.0,), seconds=None, rounds=1, workers=1)
    (lay, *_) = numbered(found)
    page = Setter(PAPERS["a4"], title=job.name)
    shown = figure(page, lay, 0, job_keys(job), most=page.height / 3.0 - 5.0)
    assert len(shown.boxes) > 1
    room = unary_union([box(*one) for one in shown.boxes]).buffer(1e-6)
    written = [text_box(n.text, n.at, height=n.height, angle=n.angle) for n in shown.drawing.labels]
    beside = [one for one in written if one.centroid.y > 200.0 or one.centroid.y < 0.0]
    assert beside
    assert all(room.contains(one) for one in written)
    for (_, _, end, _), one in ((b, w) for b in shown.boxes[:-1] for w in beside):
        x0, _, x1, _ = one.bounds
        assert not x0 < end < x1
    assert max(b[2] - b[0] for b in shown.boxes) * shown.scale <= page.width
    assert shown.height <= page.height / 3.0


PRINTED = """
[job]
name = "Invented tote"
[[cloth]]
name = "canvas"
width = 900
nap = "one-way"
print = { along = 300, across = 300PLACE }
[[piece]]
name = "front"
rectangle = [400, 260]
[[cut]]
piece = "front"
material = "canvas"
"""


def test_a_lay_on_a_print_says_where_it_begins() -> None:
    bound = PRINTED + "centred = true\n"

    def said(text: str, place: str) -> str:
        job = parse_job(text.replace("PLACE", place))
        found = needs(job, widths=(900.0,), seconds=None, rounds=1, workers=1)
        return _captions(found, numbered(found)[0])[1]

    # A front of 400 has its middle 200 from its start.
    assert "; begins 20 cm (7 7/8 in) before the middle of a motif; stored in" in said(bound, "")
    assert "begins" not in said(bound, ", origin = [0, 0]")
    assert "begins" not in said(PRINTED, "")  # nothing lies on the print


def test_what_is_said_of_a_lay_stays_on_the_page(monkeypatch: pytest.MonkeyPatch) -> None:
    job = parse_job(PRINTED.replace("PLACE", "") + "centred = true\n")
    found = needs(job, widths=(900.0,), seconds=None, rounds=1, workers=1)
    page, (lay, *_) = Setter(PAPERS["a4"], title=job.name), numbered(found)
    shown = figure(page, lay, 0, job_keys(job), most=page.height / 3.0)
    lines: list[tuple[str, float]] = []
    write = Setter.line

    def line(self: Setter, text: str, *, height: float = BODY, **how: object) -> None:
        lines.append((text, height))
        write(self, text, height=height, **how)

    monkeypatch.setattr(Setter, "line", line)
    _set(page, found, lay, shown, "")
    assert "stored in lay-1.json" in lines[-1][0]
    assert all(text_width(text) * height <= page.width for text, height in lines)
