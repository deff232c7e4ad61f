"""``python -m nesting.guide``: write the pages of `sample_markers`, sketches and starters anew."""

from __future__ import annotations

from pathlib import Path

from nesting.guide.format import format_page
from nesting.guide.sketches import SKETCHES
from nesting.guide.starter import STARTERS
from nesting.guide.starter_files import KINDS, starter
from nesting.reading.drawing_words import drawing_page

FOLDER = Path(__file__).resolve().parents[2] / "sample_markers"


def main() -> None:
    """Write the pages, every sketch and starter; remove sketches that are none any more."""
    (FOLDER / "FORMAT.md").write_text(format_page(), encoding="utf-8")
    (FOLDER / "DRAWING.md").write_text(drawing_page(), encoding="utf-8")
    sketches = FOLDER / "sketches"
    sketches.mkdir(exist_ok=True)
    for old in sketches.glob("*.svg"):
        if old.stem not in SKETCHES:
            old.unlink()
    for name, make in SKETCHES.items():
        (sketches / f"{name}.svg").write_text(make(), encoding="utf-8")
    starters = FOLDER / "starters"
    starters.mkdir(exist_ok=True)
    for name in STARTERS:
        for kind in KINDS:
            (starters / f"starter_{name}.{kind}").write_bytes(starter(name, kind))


if __name__ == "__main__":
    main()
