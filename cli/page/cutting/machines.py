"""The shop's machines as the page offers them: their files, and what is written for them."""

from __future__ import annotations

import tomllib
from collections.abc import Iterator
from itertools import islice
from pathlib import Path
from typing import TYPE_CHECKING, Any

import nesting
from nesting.errors import JobError, MachineError
from nesting.limits import LARGEST_MACHINE
from nesting.writing.cautions import cautions
from nesting.writing.files import file_name
from nesting.writing.machines.formats import Format

from ...commands.samples import source
from ..disk.nearby import lying, size_of
from ..making import kept_file

if TYPE_CHECKING:
    from ..work import Work

__all__ = ["cut_for", "is_machine", "machines", "taken_in"]

Json = dict[str, Any]

_MOST = 100
"""Machine files that are offered."""

_SHOPS = "shops"
"""The folder of the samples that holds invented machines."""


def machines(work: Work, asked: Json) -> Json:
    """Name the machines whose files lie in or beside the job's folder, and invented ones."""
    told: list[Json] = []
    for key, path in _files(work):
        said: Json = {"key": key, "file": path.name, "invented": key.startswith(_SHOPS)}
        try:
            machine = nesting.read_machine(path)
        except MachineError as error:
            told.append({**said, "trouble": str(error)})
            continue
        told.append(
            {
                **said,
                "trouble": "",
                "name": machine.name,
                "kind": str(machine.kind),
                "laser": machine.kind.has_kerf,
                "reads": [str(form) for form in machine.reads],
            }
        )
    return {"machines": told}


def cut_for(work: Work, asked: Json) -> tuple[list[Path], Json]:
    """Write the files of some markers for a machine; they, and what is to be known of them."""
    path = dict(_files(work)).get(str(asked.get("machine")))
    if path is None:
        raise JobError("there is no such machine any more", hint="choose another")
    materials = [str(name) for name in asked.get("materials") or ()]
    if not materials:
        raise JobError("nothing is to be cut", hint="choose at least one material")
    machine = nesting.read_machine(path)
    plan = work.settled()
    made = nesting.cut_plan(
        plan,
        machine,
        work.keeper.folder / f"for-{file_name(path.stem)}",
        materials=materials,
        forms=[Format(str(form)) for form in asked.get("forms") or ()],
        sds_read=asked.get("read") is True,
        common_line=asked.get("common") is True,
        insist=asked.get("insist") is True,
        overwrite=True,
    )
    goods = [e.material for e in plan.entries if e.material.name in materials]
    return list(made.files), {
        "findings": [finding.text for finding in made.findings],
        "cautions": list(cautions({one.name: one for one in goods}.values())),
    }


def is_machine(data: bytes) -> bool:
    """Whether a file is one that describes a machine, well or not."""
    try:
        held = tomllib.loads(data.decode("utf-8"))
    except (ValueError, RecursionError):
        return False
    return "bed" in held and "kind" in held and "job" not in held


def _describes(path: Path) -> bool:
    try:
        return size_of(path) <= LARGEST_MACHINE and is_machine(path.read_bytes())
    except OSError:
        return False


def taken_in(folder: Path, name: str, data: bytes) -> Json:
    """Take a machine's file that was dropped; it is not kept if it can't be read."""
    before = set(folder.iterdir())
    path = kept_file(folder, name, data)
    try:
        return {"machine": nesting.read_machine(path).name}
    except MachineError:
        if path not in before:
            path.unlink()
        raise


def _files(work: Work) -> Iterator[tuple[str, Path]]:
    """Give the machine files that are offered, and what each is asked for by."""
    home, shops = work.home, source() / _SHOPS
    for path in islice(filter(_describes, lying(home, ".toml", deep=2)), _MOST):
        yield f"here/{path.relative_to(home).as_posix()}", path
    for path in lying(shops, ".toml"):
        yield f"{_SHOPS}/{path.name}", path
