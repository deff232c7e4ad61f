"""Text of a job is data in every file: it can't become markup, codes, paths or lines."""

from __future__ import annotations

from dataclasses import replace
from html.parser import HTMLParser
from pathlib import Path
from xml.etree import ElementTree

import ezdxf
import pytest

from nesting.marker.lay import Lay, Part, Strip
from nesting.marker.marker import Marker, Placement
from nesting.pattern.piece import Mark, MarkKind, Piece
from nesting.pattern.shapes import rectangle
from nesting.planning.plan import Plan
from nesting.writing.dxf import plain_text, write_dxf
from nesting.writing.neutral.draw import draw
from nesting.writing.neutral.drawing import Drawing
from nesting.writing.pages.notebook import marker_html, marker_svg, plan_html
from nesting.writing.pages.picture import write_picture
from nesting.writing.pages.report import report
from nesting.writing.pages.wording import entry_title
from nesting.writing.pages.work_sheet import work_sheet
from nesting.writing.svg import svg
from nesting.writing.write import write_plan

NASTY = [
    "<script>alert(1)</script>",
    "\"><img src=x onerror='alert(1)'>",
    "]]><!--&amp;&#60;",
    "a\n0\nLINE\n8\nCUT\n10\n0\n20\n0\n11\n9\n21\n9",
    "%%c%%d%%%%u^J^I\\U+0041\\P{\\H2;big}",
    "$\\frac{1}{2}$ $unclosed",
    "Größe é e\u0301 布地 حقيبة 🎒",
    "\x00\x07\x1b[31m\u202etxt.exe\u2028next",
    "\ud800 half",
    "   ",
]


def nasty_marker(text: str) -> Marker:
    mark = Mark(kind=MarkKind.TEXT, text=text, at=(20.0, 20.0), size=5.0)
    named = Mark(kind=MarkKind.OUTLINE, name=text, path=rectangle(50.0, 30.0, at=(90.0, 90.0)))
    piece = Piece(name=text, cut=rectangle(300.0, 200.0), marks=(mark, named))
    part = Part(name=text, piece=piece, variant=text)
    lay = Lay(name=text, parts=(part,), stock=Strip(width=400.0))
    return Marker(lay=lay, placements=(Placement(part=0, x=0.0, y=0.0),))


def nasty_drawing(text: str) -> Drawing:
    return draw(nasty_marker(text), notes=(text,))


def nasty_plan(plan: Plan, text: str) -> Plan:
    entry = plan.entries[0]
    material = replace(entry.material, name=text, substance=text)
    entry = replace(entry, material=material, marker=nasty_marker(text))
    job = replace(
        plan.job, name=text, materials=(material,), currency=text, assumptions=(text,), file=text
    )
    return replace(plan, job=job, entries=(entry,), program=text)


@pytest.mark.parametrize("text", NASTY)
def test_svg_stays_well_formed_and_holds_what_it_should(text: str) -> None:
    for source in (svg(nasty_drawing(text)), marker_svg(nasty_marker(text))):
        root = ElementTree.fromstring(source.encode("utf-8"))
        tags = {element.tag.split("}")[1] for element in root.iter()}
        assert tags <= {"svg", "title", "desc", "g", "path", "text", "circle"}
        names = {name for element in root.iter() for name in element.attrib}
        assert not any(name.startswith("on") or "href" in name for name in names)


@pytest.mark.parametrize("text", NASTY)
def test_dxf_holds_the_same_entities_whatever_the_text(text: str, tmp_path: Path) -> None:
    path = tmp_path / "m.dxf"
    write_dxf(nasty_drawing(text), path)
    document = ezdxf.readfile(path)
    assert not document.audit().errors
    kinds = [entity.dxftype() for entity in document.modelspace()]
    assert set(kinds) <= {"LWPOLYLINE", "TEXT"}
    assert kinds.count("LWPOLYLINE") == sum(
        1 for entity in document.modelspace().query("LWPOLYLINE")
    )
    cuts = document.modelspace().query('*[layer=="CUT"]')
    assert len(cuts) == 1
    for entity in document.modelspace().query("TEXT"):
        assert "\n" not in entity.dxf.text
        assert "%%" not in entity.dxf.text


def test_dxf_text_is_the_text_where_it_can_be() -> None:
    assert plain_text("Größe 布地 5 %") == "Größe 布地 5 %"
    assert plain_text("%%c") == "% %c"
    assert plain_text("%%%") == "% % %"
    assert plain_text("a^J") == "a^ J"


class Tags(HTMLParser):
    def __init__(self) -> None:
        super().__init__()
        self.seen: set[str] = set()
        self.attributes: set[str] = set()

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.seen.add(tag)
        self.attributes |= {name for name, _ in attrs}


@pytest.mark.parametrize("text", NASTY)
def test_pages_hold_no_markup_of_the_job(hand_laid_plan: Plan, text: str) -> None:
    plan = nasty_plan(hand_laid_plan, text)
    title = entry_title(plan.entries[0])
    for page in (
        report(plan, notes=(text,)),
        work_sheet(plan, files={title: text}),
        plan_html(plan),
        marker_html(plan.entries[0].marker),
    ):
        page.encode("utf-8")
        tags = Tags()
        tags.feed(page)
        assert "table" in tags.seen
        assert not tags.seen & {"script", "img", "iframe", "link", "object", "form", "a"}
        assert not any(name.startswith("on") or name in ("src", "href") for name in tags.attributes)


@pytest.mark.parametrize("text", [NASTY[0], NASTY[5], NASTY[6], NASTY[7]])
def test_pictures_are_drawn_whatever_the_text(
    hand_laid_plan: Plan, text: str, tmp_path: Path
) -> None:
    entry = nasty_plan(hand_laid_plan, text).entries[0]
    write_picture(entry, tmp_path / "m.png", notes=(text,), currency=text)
    assert (tmp_path / "m.png").read_bytes().startswith(b"\x89PNG")


@pytest.mark.parametrize("text", [*NASTY[:4], "../../x", "con", "."])
def test_files_stay_in_their_folder(hand_laid_plan: Plan, text: str, tmp_path: Path) -> None:
    folder = tmp_path / "in" / "here"
    plan = nasty_plan(hand_laid_plan, text)
    files = write_plan(plan, folder, kinds=("dxf", "svg", "report"))
    assert sorted(files) == sorted(path for path in tmp_path.rglob("*") if path.is_file())
    assert all(path.parent == folder for path in files)
