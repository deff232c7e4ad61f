"""``thriftlay schema``: the JSON Schema of a job file, for editors."""

from __future__ import annotations

import argparse
from typing import Any

from nesting import job_schema

from .arguments import new_command
from .say import say_json

__all__ = ["add", "run"]


def add(commands: Any) -> None:
    """Add the command to the parser."""
    parser = new_command(
        commands,
        "schema",
        about="print the JSON Schema of a job file",
        example="thriftlay schema > job.schema.json",
    )
    parser.set_defaults(run=run)


def run(arguments: argparse.Namespace) -> int:
    """Print the schema."""
    say_json(job_schema(), indent=2)
    return 0
