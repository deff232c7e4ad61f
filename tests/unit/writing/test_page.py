"""The structure of the pages people read, and that all on them can be seen (WCAG 2.2)."""

from __future__ import annotations

import re
from collections import Counter
from dataclasses import replace
from html.parser import HTMLParser
from importlib.resources import files
from itertools import combinations

import pytest

from nesting.pattern.piece import Face, Mark, MarkKind
from nesting.planning.plan import Plan
from nesting.writing.neutral.look import CLOTH, FLAW, GRID, INK, MARK, ZONE, piece_colour
from nesting.writing.pages.report import report
from nesting.writing.pages.work_sheet import work_sheet
from nesting.writing.paper.labels import _words
from nesting.writing.paper.print_pdf import _PEN
from nesting.writing.svg import _COLOURS

STYLE = (files("nesting.writing.pages") / "html" / "style.css").read_text(encoding="utf-8")
VOID = {"meta", "br", "img", "link"}


class Tree(HTMLParser):
    """The elements of a page as (path of tags, attributes), and the texts right in each."""

    def __init__(self, text: str) -> None:
        super().__init__()
        self.open: list[str] = []
        self.found: list[tuple[tuple[str, ...], dict[str, str | None]]] = []
        self.texts: list[tuple[tuple[str, ...], str]] = []
        self.feed(text)
        self.close()

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.found.append(((*self.open, tag), dict(attrs)))
        if tag not in VOID:
            self.open.append(tag)

    def handle_startendtag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.found.append(((*self.open, tag), dict(attrs)))

    def handle_endtag(self, tag: str) -> None:
        assert self.open.pop() == tag

    def handle_data(self, data: str) -> None:
        if data.strip():
            self.texts.append((tuple(self.open), data.strip()))

    def all(self, tag: str) -> list[dict[str, str | None]]:
        return [attributes for path, attributes in self.found if path[-1] == tag]


@pytest.fixture(scope="module", params=["report", "work sheet"])
def page(request: pytest.FixtureRequest, hand_laid_plan: Plan) -> str:
    if request.param == "report":
        return report(hand_laid_plan)
    return work_sheet(hand_laid_plan, files={})


def test_a_page_has_a_language_a_width_and_one_main_part(page: str) -> None:
    tree = Tree(page)
    assert not tree.open  # every element is closed
    assert tree.all("html")[0]["lang"] == "en"
    assert "width=device-width" in str([a.get("content") for a in tree.all("meta")])
    assert Counter(path[-1] for path, _ in tree.found)["main"] == 1
    assert len(tree.all("h1")) == 1
    for path, _ in tree.found:  # all but the header stands in it
        if path[-1] in {"section", "table", "figure"}:
            assert path[:3] == ("html", "body", "main")


def test_every_table_is_named_and_its_heads_say_what_they_head(page: str) -> None:
    tree = Tree(page)
    captions = [text for path, text in tree.texts if path[-1] == "caption"]
    assert len(captions) == len(tree.all("table")) >= 1
    assert all(attributes.get("scope") in {"col", "row"} for attributes in tree.all("th"))
    heads = [text for path, text in tree.texts if path[-2:] == ("tr", "th")]
    assert len(heads) == len(tree.all("th"))  # none is empty


def test_every_drawing_says_what_it_shows(page: str, hand_laid_plan: Plan) -> None:
    tree = Tree(page)
    drawings = tree.all("svg")
    said = [text for path, text in tree.texts if path[-2:] == ("svg", "title")]
    assert all(attributes["role"] == "img" for attributes in drawings)
    assert len(said) == len(drawings)
    placed = Counter(
        entry.marker.lay.parts[p.part].piece.name
        for entry in hand_laid_plan.entries[:1]
        for p in entry.marker.placements
    )
    first = [text for text in said if text.startswith(hand_laid_plan.entries[0].marker.lay.name)]
    for name, count in placed.items():
        shown = sum(
            int(n)
            for text in first
            for n in re.findall(rf"(\d+) × {re.escape(name)}(?=[,;]|$)", text)
        )
        assert shown >= count, name  # twice, where a row's end runs through it


def test_long_reports_have_contents_whose_links_lead_somewhere(hand_laid_plan: Plan) -> None:
    entries = hand_laid_plan.entries
    short = Tree(report(replace(hand_laid_plan, entries=entries[:3])))
    assert not short.all("nav")
    tree = Tree(report(replace(hand_laid_plan, entries=(*entries, *entries)[:6])))
    assert len(tree.all("nav")) == 1
    ids = [attributes["id"] for _, attributes in tree.found if attributes.get("id")]
    assert len(ids) == len(set(ids))
    links = [str(a["href"]) for a in tree.all("a")]
    assert len(links) >= 6
    assert {link.removeprefix("#") for link in links} <= set(ids)


def test_a_single_sheet_does_not_repeat_the_heading(hand_laid_plan: Plan) -> None:
    tree = Tree(report(hand_laid_plan))
    heads = {text for path, text in tree.texts if path[-1] == "h2"}
    captions = [text for path, text in tree.texts if path[-1] == "figcaption"]
    assert captions
    assert not {text.split(".")[0] for text in captions} & heads
    assert any("sheet 1 of 2." in text for text in captions)


def test_a_label_does_not_say_twice_what_it_is_for() -> None:
    drill = Mark(
        kind=MarkKind.DRILL, at=(0.0, 0.0), name="rivet", face=Face.WRONG, copies=frozenset({1})
    )
    assert _words([drill]) == "Marks on the wrong side: drill hole (rivet)"


def test_paper_of_any_size_will_do() -> None:
    (rule,) = re.findall(r"@page\s*{([^}]*)}", STYLE)
    assert "size" not in rule


def channels(colour: str) -> list[float]:
    return [int(colour[i : i + 2], 16) / 255.0 for i in (1, 3, 5)]


def contrast(one: str, other: str) -> float:
    """Contrast ratio (WCAG 2.2, from IEC 61966-2-1)."""

    def luminance(colour: str) -> float:
        r, g, b = (
            v / 12.92 if v <= 0.04045 else ((v + 0.055) / 1.055) ** 2.4 for v in channels(colour)
        )
        return 0.2126 * r + 0.7152 * g + 0.0722 * b

    high, low = sorted((luminance(one), luminance(other)), reverse=True)
    return (high + 0.05) / (low + 0.05)


def test_contrast_is_reckoned_as_published() -> None:
    """Black on white is 21 to 1, #767676 the lightest grey of 4.5 to 1 (WCAG 2.2, 1.4.3)."""
    assert contrast("#000000", "#ffffff") == pytest.approx(21.0)
    assert contrast("#767676", "#ffffff") >= 4.5 > contrast("#777777", "#ffffff")


@pytest.mark.parametrize("text", [INK, MARK, ZONE])
def test_what_is_written_on_parts_can_be_read(text: str) -> None:
    """WCAG 2.2, success criterion 1.4.3: at least 4.5 to 1."""
    grounds = [CLOTH, *(piece_colour(number) for number in range(200))]
    assert min(contrast(text, ground) for ground in grounds) >= 4.5


def test_lines_across_parts_and_the_shape_of_flaws_can_be_seen() -> None:
    """WCAG 2.2, success criterion 1.4.11: at least 3 to 1."""
    for ground in [CLOTH, *(piece_colour(number) for number in range(200))]:
        assert contrast(GRID, ground) >= 3.0
    assert contrast(FLAW, CLOTH) >= 3.0


def test_lines_of_the_print_can_be_seen_on_white() -> None:
    """On paper and in the SVG file: at least 3 to 1 (WCAG 2.2, 1.4.11)."""
    grey = round(255.0 * _PEN["cloth"][1])
    assert contrast(f"#{grey:02x}{grey:02x}{grey:02x}", "#ffffff") >= 3.0
    for colour in _COLOURS.values():
        assert contrast(colour, "#ffffff") >= 3.0


def test_colours_do_not_tell_pieces_apart_in_grey() -> None:
    """Which is why every part bears its name or its key: of 25 pieces many pairs look alike."""
    colours = [piece_colour(number) for number in range(25)]
    alike = [contrast(a, b) < 1.1 for a, b in combinations(colours, 2)]
    assert sum(alike) > len(alike) / 4


def test_the_colours_of_the_page_can_be_read() -> None:
    """All that is written in them, on white and on the tinted ground; lines 3 to 1."""
    colours = dict(re.findall(r"--(\w+): (#[0-9a-f]{6})", STYLE))
    for ground in (colours["paper"], colours["warm"]):
        for text in ("ink", "soft", "bad"):
            assert contrast(colours[text], ground) >= 4.5, (text, ground)
    assert contrast(colours["line"], colours["paper"]) >= 3.0
