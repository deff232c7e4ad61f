"""Files of pieces that several jobs include."""

from __future__ import annotations

from pathlib import Path

import pytest

from nesting import JobError, parse_job, read_job

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


UP = """
[job]
name = "Tote"
[[piece]]
name = "panel"
points = [[0, 0], [200, 0], [180, 90], [0, 80]]
up_known = KNOWN
[[cloth]]
name = "print"
width = 1400
nap = "NAP"
[[cut]]
piece = "panel"
material = "print"
"""


def test_a_piece_of_which_nobody_knows_the_top_is_not_laid_where_that_matters() -> None:
    text = UP.replace("KNOWN", "false").replace("NAP", "one-way")
    with pytest.raises(JobError, match="which end of panel is up is not known") as caught:
        parse_job(text)
    assert caught.value.field == "cut[1].piece"
    parse_job(UP.replace("KNOWN", "true").replace("NAP", "one-way"))
    parse_job(UP.replace("KNOWN", "false").replace("NAP", "none"))
    # turned by half a turn it is the same
    even = text.replace("points = [[0, 0], [200, 0], [180, 90], [0, 80]]", "rectangle = [200, 90]")
    parse_job(even)
