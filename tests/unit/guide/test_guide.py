"""The pages for people are true: examples are jobs, sketches and tables are those of today."""

from __future__ import annotations

import re
import tomllib
from pathlib import Path
from xml.etree.ElementTree import fromstring

import pytest
from thriftlay.main import COMMANDS

import nesting
from nesting import check, make_plan
from nesting.guide.examples import EXAMPLES, WHOLE, Example
from nesting.guide.format import format_page
from nesting.guide.sketch import scene
from nesting.guide.sketches import OF_SECTION, SKETCHES
from nesting.job.file import parse_job, read_job
from nesting.job.job import Job
from nesting.job.opening import include_table
from nesting.job.source import Source
from nesting.job.tables.job_table import IncludeTable, JobTable
from nesting.planning.lay.lays import lays
from nesting.reading.drawing_words import drawing_page

FOLDER = Path(__file__).parents[3] / "sample_markers"


def test_the_page_is_up_to_date() -> None:
    assert (FOLDER / "FORMAT.md").read_text(encoding="utf-8") == format_page()


def test_the_page_on_drawing_is_up_to_date() -> None:
    assert (FOLDER / "DRAWING.md").read_text(encoding="utf-8") == drawing_page()


@pytest.mark.parametrize("name", SKETCHES)
def test_a_sketch_is_up_to_date_and_small(name: str) -> None:
    made = SKETCHES[name]()
    assert (FOLDER / "sketches" / f"{name}.svg").read_text(encoding="utf-8") == made
    assert len(made) < 12_000
    root = fromstring(made)
    paper = next(child for child in root if child.tag.endswith("rect"))
    assert (paper.get("width"), paper.get("height")) == (root.get("width"), root.get("height"))
    assert paper.get("fill") == "#fffdf8", "its own paper, for light and dark pages"


def test_there_are_no_other_sketches() -> None:
    assert {file.stem for file in (FOLDER / "sketches").iterdir()} == set(SKETCHES)


def test_a_sketch_can_not_show_what_the_judge_refuses() -> None:
    with pytest.raises(ValueError, match="overlap"):
        scene(EXAMPLES["`[[sheet]]`"].job, (15.0, 15.0), (20.0, 20.0), (260.0, 15.0))


def test_the_whole_job_is_one() -> None:
    (lay,) = lays(parse_job(WHOLE))
    assert len(lay.parts) == 4
    assert [len(part.piece.marks) for part in lay.parts] == [1, 0, 1, 0]


def read(example: Example, folder: Path) -> Job:
    """Read an example with the files it needs."""
    for name, text in example.files.items():
        (folder / name).write_bytes(text.encode() if isinstance(text, str) else text)
    if example.included:
        (folder / "shelf.toml").write_text(example.text)
    (folder / "job.toml").write_text(example.job)
    return read_job(folder / "job.toml")


@pytest.mark.parametrize("title", EXAMPLES)
def test_an_example_is_read_and_laid(title: str, tmp_path: Path) -> None:
    job = read(EXAMPLES[title], tmp_path)
    if job.bags and len(job.bags) > 1:
        assert lays(job)
        return  # an order is planned, not laid: see the journeys
    plan = make_plan(job, seconds=None, rounds=1, workers=1)
    assert plan.entries
    for entry in plan.entries:
        assert entry.marker.placements
        assert not check(entry.marker)


@pytest.mark.parametrize("title", EXAMPLES)
def test_a_section_has_words_an_example_and_a_sketch(title: str) -> None:
    example = EXAMPLES[title]
    assert example.says.endswith(".")
    assert (title in OF_SECTION) != bool(example.drawn)
    table = tomllib.loads(example.text)
    assert table
    known = IncludeTable if example.included else JobTable
    assert set(table) <= {field.alias or name for name, field in known.model_fields.items()}


def test_every_section_of_the_page_has_an_example() -> None:
    titles = set(re.findall(r"^## (.+)$", format_page(), re.MULTILINE))
    assert titles - {"What holds everywhere"} == set(EXAMPLES)


@pytest.mark.parametrize("title", [t for t in EXAMPLES if t.startswith("`[")])
def test_an_example_shows_its_section(title: str) -> None:
    header = title.strip("`").split("`")[0]
    assert header in EXAMPLES[title].text or EXAMPLES[title].included


WORDS = (FOLDER / "WORDS.md").read_text(encoding="utf-8")
TERMS = (
    *("lay", "ply", "mates", "marker", "nap", "selvedge", "steps", "remnant", "zone", "tightness"),
    *("drift", "drop", "grain", "bias", "kerf", "load", "lower bound", "judge", "notch", "repeat"),
    *("efficiency", "utilisation", "spread", "colourway", "register marks", "template", "margin"),
)


@pytest.mark.parametrize("term", TERMS)
def test_a_newcomer_finds_the_word(term: str) -> None:
    assert re.search(rf"\*\*{term}s?\*\*", WORDS, re.IGNORECASE), term


@pytest.mark.parametrize(
    "page",
    [
        "README.md",
        "DEVELOPERS.md",
        *(f"sample_markers/{n}.md" for n in ("FORMAT", "WORDS", "DRAWING")),
    ],
)
def test_what_a_page_links_to_is_there(page: str) -> None:
    file = FOLDER.parent / page
    text = file.read_text(encoding="utf-8")
    targets = re.findall(r"\]\(([^)#]+)", text)
    targets += re.findall(r"`((?:nesting|benchmarks|sample_markers|tests)/[\w./]+)`", text)
    assert targets or page.endswith("DRAWING.md")  # which stands alone
    for target in targets:
        assert (file.parent / target).exists(), target


def test_the_words_are_linked_from_where_newcomers_begin() -> None:
    assert "sample_markers/WORDS.md" in (FOLDER.parent / "README.md").read_text(encoding="utf-8")
    assert "](WORDS.md)" in format_page()


README = (FOLDER.parent / "README.md").read_text(encoding="utf-8")


def test_what_the_readme_shows_can_be_used() -> None:
    job, stock = re.findall(r"```toml\n(.*?)```", README, re.DOTALL)
    (lay,) = lays(parse_job(job))
    assert len(lay.parts) == 2
    assert set(include_table(Source(stock)).at_hand) == {"outer canvas", "foam"}
    (code,) = re.findall(r"```python\n(.*?)```", README, re.DOTALL)
    assert set(re.findall(r"nesting\.(\w+)\(", code)) <= set(nesting.__all__)


def test_the_readme_lists_every_command() -> None:
    assert re.findall(r"^\| `thriftlay (\w+)", README, re.MULTILINE) == list(COMMANDS)
