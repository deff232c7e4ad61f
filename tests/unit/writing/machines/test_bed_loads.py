"""What is planned in loads of a bed is cut in those loads."""

from __future__ import annotations

from collections import Counter
from dataclasses import replace
from pathlib import Path

import pytest

from nesting.errors import MachineError
from nesting.job.file import parse_job
from nesting.planning.lay.bed import turn_on_bed
from nesting.planning.make import make_plan
from nesting.planning.plan import Plan
from nesting.writing.machines.files import cut_plan
from nesting.writing.machines.machine import read_machine
from nesting.writing.machines.work import extent
from nesting.writing.neutral.drawing import Operation
from tests.unit.planning.orders.test_order import Here

SHOP = read_machine(Path("sample_markers/shops/hobby_laser.toml"))
JOB = """
[job]
name = "coasters"
[table]
bed = ["60 cm", "40 cm"]
[[sheet]]
name = "cork"
size = ["90 cm", "60 cm"]
substance = "cork"
[[cloth]]
name = "felt"
width = "90 cm"
substance = "wool"
[[piece]]
name = "square"
points = [[0, 0], [170, 0], [180, 180], [0, 180]]
[[cut]]
piece = "square"
material = ["cork", "felt"]
copies = 12
"""


@pytest.fixture(scope="module")
def plan() -> Plan:
    return make_plan(parse_job(JOB), seconds=None, rounds=1, executor=Here())


@pytest.mark.parametrize("material", ["cork", "felt"])
def test_every_part_is_cut_once_on_the_bed_that_it_was_planned_for(
    material: str, plan: Plan, tmp_path: Path
) -> None:
    entry = next(e for e in plan.entries if e.material.name == material)
    assert len(entry.loads) > 1
    shop = replace(SHOP, bed_length=600.0, bed_width=400.0)
    made = cut_plan(plan, shop, tmp_path, materials=[material], sds_read=True)
    assert len(made.loads) == len(entry.loads)
    cut: Counter[str] = Counter()
    for load, planned in zip(made.loads, entry.loads, strict=True):
        drawing = load.sequence.drawing
        x0, y0, x1, y1 = extent(drawing)
        assert min(x0, y0) >= -1e-6
        assert x1 <= 600.0 + 1e-6
        assert y1 <= 400.0 + 1e-6
        outlines = {s.part for s in drawing.strokes if s.operation is Operation.CUT}
        names = {drawing.parts[part].name for part in outlines if part is not None}
        assert names == set(planned.parts)
        cut.update(names)
        # The load's own corner lies at the corner of the bed, but for the kerf.
        corners = [
            load.place((planned.x + a * planned.length, planned.y + b * planned.width))
            for a in (0, 1)
            for b in (0, 1)
        ]
        x, y = min(c[0] for c in corners), min(c[1] for c in corners)
        assert abs(y) <= 0.1 + 1e-6
        assert x <= 0.1 + 1e-6
    assert cut == Counter(part.name for part in entry.marker.lay.parts)
    sheets = [file.read_text() for file in made.files if file.suffix == ".txt"]
    assert any("one load of several" in text for text in sheets)
    assert all("load" in text.splitlines()[0] for text in sheets)


def test_a_bed_smaller_than_the_planned_one_is_refused_with_what_to_do(
    plan: Plan, tmp_path: Path
) -> None:
    shop = replace(SHOP, bed_length=400.0, bed_width=300.0)
    with pytest.raises(MachineError, match="with kerf and blade") as caught:
        cut_plan(plan, shop, tmp_path, materials=["cork"], sds_read=True)
    assert "[table] bed" in (caught.value.hint or "")
    assert not list(tmp_path.iterdir())


def test_what_fits_a_bed() -> None:
    assert turn_on_bed((600, 400), (600, 400), may_turn=False) == 0.0
    assert turn_on_bed((400, 600), (600, 400), may_turn=True) == 90.0
    assert turn_on_bed((400, 600), (600, 400), may_turn=False) is None
    assert turn_on_bed((601, 10), (600, 400), may_turn=True) is None
