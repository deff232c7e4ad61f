"""Whatever file is named, only an ordinary one of bounded size is read."""

from __future__ import annotations

import os
from collections.abc import Callable
from pathlib import Path

import pytest

from nesting import (
    JobError,
    MachineError,
    NestingError,
    PatternError,
    PlanError,
    load_plan,
    read_job,
    read_machine,
    read_pattern,
)
from nesting.bounded import bytes_of
from nesting.planning.buying.stock import read_stock

READERS: dict[str, tuple[Callable[[Path], object], type[NestingError]]] = {
    "job": (read_job, JobError),
    "stock": (read_stock, JobError),
    "plan": (load_plan, PlanError),
    "machine": (read_machine, MachineError),
    "pattern": (read_pattern, PatternError),
}
each = pytest.mark.parametrize("kind", READERS)


def refusal(kind: str, path: Path) -> str:
    read, error = READERS[kind]
    with pytest.raises(error) as told:
        read(path)
    assert "\n" not in str(told.value)
    return str(told.value)


@each
@pytest.mark.parametrize("name", ["/dev/zero", "/dev/urandom"])
def test_a_device_is_not_read(kind: str, name: str) -> None:
    if not Path(name).exists():
        pytest.skip("no such device on this system")
    assert "not an ordinary file" in refusal(kind, Path(name))


@each
def test_a_pipe_is_not_waited_for(kind: str, tmp_path: Path) -> None:
    if not hasattr(os, "mkfifo"):
        pytest.skip("no named pipes on this system")
    os.mkfifo(tmp_path / "pipe")
    assert "not an ordinary file" in refusal(kind, tmp_path / "pipe")


@each
def test_a_folder_and_what_is_not_there(kind: str, tmp_path: Path) -> None:
    assert "this is a folder" in refusal(kind, tmp_path)
    assert "no such file" in refusal(kind, tmp_path / "none")
    assert "not usable" in refusal(kind, Path("a\0b"))


def test_an_included_folder_is_named(tmp_path: Path) -> None:
    job = tmp_path / "job.toml"
    sheet = '[[sheet]]\nname = "cork"\nsize = [100, 100]\n'
    bag = '[[bag]]\nname = "b"\npiece = [{ name = "p", circle = 9 }]\n'
    cut = 'cut = [{ piece = "p", material = "cork" }]\n'
    (tmp_path / "more").mkdir()
    job.write_text('include = "more"\n[job]\nname = "a"\n' + sheet + bag + cut)
    assert "more: this is a folder" in refusal("job", job)


def test_a_file_larger_than_the_limit_is_refused(tmp_path: Path) -> None:
    path = tmp_path / "a"
    path.write_bytes(b"x" * 2_000_001)
    with pytest.raises(JobError, match=r"larger than 2 MB \(a job file is far smaller\)"):
        bytes_of(path, most=2_000_000, what="a job file", error=JobError)
    assert len(bytes_of(path, most=2_000_001, what="a job file", error=JobError)) == 2_000_001


@pytest.mark.parametrize("kind", ["job", "stock", "machine"])
@pytest.mark.parametrize(
    "text",
    [
        "a = " + "9" * 5000,
        "a = " + "[" * 3000 + "]" * 3000,
        "a = " + "{b=" * 3000 + "1" + "}" * 3000,
        'a = "' + "\\u001b" * 1000 + '"',
        "\x1b[31m = 3",
    ],
)
def test_toml_that_means_harm(kind: str, text: str, tmp_path: Path) -> None:
    path = tmp_path / "file.toml"
    path.write_text(text)
    told = refusal(kind, path)
    assert "\x1b" not in told
    assert len(told) < 1000 + len(str(path))


@pytest.mark.parametrize("text", ["9" * 5000, "[" * 100_000, '{"format": ' + "9" * 5000 + "}"])
def test_a_plan_that_means_harm(text: str, tmp_path: Path) -> None:
    path = tmp_path / "plan.json"
    path.write_text(text)
    assert len(refusal("plan", path)) < 1000 + len(str(path))


def test_a_message_is_one_bounded_line() -> None:
    told = str(
        JobError("a\x1b[31m\nb" * 100_000, file="f\n", field="x" * 9999, hint="h\u202e" * 9999)
    )
    assert len(told) < 1500
    assert told.isprintable()
