"""Files of pieces that several jobs include."""

from __future__ import annotations

from pathlib import Path

import pytest

from nesting import JobError, read_job

PIECES = """
[[piece]]
name = "front"
rectangle = [200, 100]

[[piece.mark]]
kind = "drill"
at = [50, 50]
materials = "{material}"

[[piece]]
name = "spare"
rectangle = [50, 50]
"""

JOB = """
include = "pieces.toml"
[job]
name = "Pouch"
[[cloth]]
name = "canvas"
width = 1400
[[cut]]
piece = "front"
material = "canvas"
"""


def written(folder: Path, material: str) -> Path:
    (folder / "pieces.toml").write_text(PIECES.format(material=material))
    (folder / "job.toml").write_text(JOB)
    return folder / "job.toml"


def test_marks_for_the_materials_of_other_jobs_are_no_error(tmp_path: Path) -> None:
    job = read_job(written(tmp_path, "lining"))
    assert not any("spare" in text and "not cut" in text for text in job.assumptions)


def test_a_slip_in_a_material_is_still_told(tmp_path: Path) -> None:
    with pytest.raises(JobError, match='no material is named "canvass"'):
        read_job(written(tmp_path, "canvass"))
