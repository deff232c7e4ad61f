"""``thriftlay samples``: the sample jobs, machine files and pages that come with the program."""

from __future__ import annotations

import argparse
import shutil
from pathlib import Path
from typing import Any

from nesting.errors import WriteError
from nesting.whole import whole_folder

from ..arguments import add_replace, new_command
from ..say import say

__all__ = ["add", "copied", "run", "source"]

_KINDS = (".toml", ".md", ".svg", ".dxf", ".pdf")


def add(commands: Any) -> None:
    """Add the command to the parser."""
    parser = new_command(
        commands,
        "samples",
        about="copy sample jobs and machines, and pages on the job file and the words used",
        example="thriftlay samples --out samples",
    )
    parser.add_argument("--out", type=Path, required=True, metavar="FOLDER", help="where to")
    add_replace(parser)
    parser.set_defaults(run=run)


def run(arguments: argparse.Namespace) -> int:
    """Copy them, all or none, and say where to begin."""
    folder: Path = arguments.out
    copied(folder, replace=arguments.replace)
    for file in sorted(folder.glob("*.md")) + sorted(folder.glob("*/*.toml")):
        say(file)
    return 0


def copied(folder: Path, *, replace: bool = False) -> None:
    """Copy the samples into a folder, all or none.

    Raises
    ------
    WriteError
        The folder exists already, and `replace` is not set.

    """
    if folder.exists() and not replace:
        raise WriteError(
            "exists already", file=str(folder), hint="name another folder, or say --replace"
        )
    folder.parent.mkdir(parents=True, exist_ok=True)
    with whole_folder(folder.parent) as waiting:
        whole = waiting / folder.name
        shutil.copytree(source(), whole, ignore=_left_out)
        if folder.exists():  # else it is moved there
            shutil.copytree(whole, folder, dirs_exist_ok=True)
            shutil.rmtree(whole)


def source() -> Path:
    """Return the folder they come from: in our package if installed, else the sources'."""
    here = Path(__file__).resolve().parents[1]
    return next(
        folder
        for folder in (here / "sample_markers", here.parent / "sample_markers")
        if (folder / "FORMAT.md").exists()
    )


def _left_out(folder: str, names: list[str]) -> list[str]:
    """Return what of a folder is not copied: what was laid, and code."""
    return [
        name
        for name in names
        if (Path(folder) / name).is_file() and Path(name).suffix not in _KINDS
    ] + [name for name in names if name in ("laid", "__pycache__")]
