"""The benchmark of pictures puts its table into the page of results, in place of the one there."""

from __future__ import annotations

from benchmarks.photographed import pictures
from benchmarks.results import RESULTS


def test_its_table_takes_the_place_of_the_old_one() -> None:
    page = RESULTS.read_text(encoding="utf-8")
    table = [pictures.HEAD, "|---|---:|---:|---:|---:|---:|---:|", "| a scan |"]
    new = pictures.written(page, table)
    assert "\n".join(["", *table, ""]) in new
    assert new.count(pictures.HEAD) == 1
    assert "photograph, one A4, lens" not in new
    assert len(page.splitlines()) - len(new.splitlines()) == 4  # five pictures gave way to one
    assert new.splitlines()[-1] == page.splitlines()[-1]
