"""``thriftlay schema``: the JSON Schema of a job file, for editors."""

from __future__ import annotations

import argparse
import json
from typing import Any

from nesting import job_schema

__all__ = ["add", "run"]


def add(commands: Any) -> None:
    """Add the command to the parser."""
    parser = commands.add_parser("schema", help="print the JSON Schema of a job file")
    parser.set_defaults(run=run)


def run(arguments: argparse.Namespace) -> int:
    """Print the schema."""
    print(json.dumps(job_schema(), indent=2, ensure_ascii=False))
    return 0
