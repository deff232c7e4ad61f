"""Pages from templates: every text in them stays text, and nothing is left out quietly."""

from __future__ import annotations

from html.parser import HTMLParser
from importlib.resources import files

import pytest
from jinja2 import UndefinedError
from markupsafe import Markup

from nesting.writing.pages.markup import Passage, Table, filled

HTML = files("nesting.writing.pages") / "html"
ODD = '<b onclick="x">\'&amp; \x1b[31m{{ 7 * 7 }}\nnext'
SEEN = '<b onclick="x">\'&amp; [31m{{ 7 * 7 }} next'


class Elements(HTMLParser):
    """Every element with its attributes and the text right in it."""

    def __init__(self, text: str) -> None:
        super().__init__()
        self.found: list[tuple[str, dict[str, str | None], str]] = []
        self.feed(text)
        self.close()

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.found.append((tag, dict(attrs), ""))

    def handle_data(self, data: str) -> None:
        if data.strip():
            tag, attributes, text = self.found[-1]
            self.found[-1] = (tag, attributes, text + data)

    def texts(self, *tags: str) -> list[str]:
        return [text for tag, _, text in self.found if tag in tags]


def notebook(table: Table, *markers: dict[str, object]) -> Elements:
    return Elements(filled("notebook.html", figures=table, markers=markers))


def test_a_text_is_text_wherever_it_stands() -> None:
    table = Table(caption=ODD, head=[ODD], rows=[[ODD]], foot=[[ODD]])
    found = notebook(table, {"title": ODD, "pictures": [ODD], "more": ODD})
    assert not {"b"} & {tag for tag, _, _ in found.found}
    (around,) = (attributes for tag, attributes, _ in found.found if tag == "div")
    assert around["aria-label"] == SEEN
    assert [text.strip() for text in found.texts("caption", "th", "p")] == [SEEN] * 5
    assert found.texts("h3")[0].split("\n")[0] == SEEN


def test_markup_stays_markup() -> None:
    chip = Markup('<span class="key">{}</span>').format("<A>")
    found = notebook(Table(caption="t", head=["Key", "Piece"], rows=[[chip, "flap"]], named=1))
    assert found.texts("span") == ["<A>"]
    assert found.texts("th") == ["Key", "Piece", "flap"]


def test_a_table_names_its_rows_and_sets_its_numbers_to_the_right() -> None:
    table = Table(
        caption="t",
        head=["", "Cost"],
        rows=[["foam", "1"], ["", "2"]],
        foot=[["Sum", "3"]],
        numbers=(1,),
    )
    cells = [one for one in notebook(table).found if one[0] in ("th", "td")]
    right = {"class": "n"}
    assert cells == [
        ("td", {}, ""),
        ("th", {"scope": "col"} | right, "Cost"),
        ("th", {"scope": "row"}, "foam"),
        ("td", right, "1"),
        ("td", {}, ""),
        ("td", right, "2"),
        ("th", {"scope": "row"}, "Sum"),
        ("td", right, "3"),
    ]


def test_a_table_without_sums_has_no_foot() -> None:
    found = notebook(Table(caption="t", head=["a"], rows=[["1"]]))
    assert "tbody" in {tag for tag, _, _ in found.found}
    assert "tfoot" not in {tag for tag, _, _ in found.found}


def test_what_a_passage_has_stands_in_order() -> None:
    table = Table(caption="c", head=["h"], rows=[["r"]])
    it = Passage("heading", "sentence", lines=("one", "two"), table=table, note="note")
    spread = {"title": "s", "picture": "", "lines": ["how"], "bundles": it}
    found = Elements(filled("work_sheet.html", title="t", total="1", spreads=[spread]))
    tags = [tag for tag, _, _ in found.found]
    below = tags[tags.index("h3") :]
    assert below == [
        "h3",
        "p",
        *("ul", "li", "li"),
        *("div", "table", "caption"),
        *below[8:-1],
        "p",
    ]
    assert found.found[-1] == ("p", {"class": "soft"}, "note")
    empty = spread | {"bundles": Passage("heading")}
    tags = [
        tag
        for tag, _, _ in Elements(
            filled("work_sheet.html", title="t", total="1", spreads=[empty])
        ).found
    ]
    assert tags[-1] == "h3"


def test_what_a_template_is_not_given_is_an_error() -> None:
    with pytest.raises(UndefinedError, match="figures"):
        filled("notebook.html", markers=())


def test_no_template_turns_escaping_off() -> None:
    names = {file.name for file in HTML.iterdir()}
    assert names == {
        *("advice.html", "notebook.html", "page.html", "parts.html", "report.html", "style.css"),
        "work_sheet.html",
    }
    for file in HTML.iterdir():
        text = file.read_text(encoding="utf-8")
        assert "safe" not in text
        assert "autoescape" not in text
