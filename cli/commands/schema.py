"""``thriftlay schema``: the JSON Schema of a job file, or of what a command tells machines."""

from __future__ import annotations

import argparse
from typing import Any

from ..arguments import new_command
from ..say import say_json

__all__ = ["add", "result_schema", "run"]

_JOB = "job"


def add(commands: Any) -> None:
    """Add the command to the parser."""
    parser = new_command(
        commands,
        "schema",
        about="print the JSON Schema of a job file, or of what a command prints with --json",
        example="thriftlay schema --of lay > lay.schema.json",
    )
    parser.add_argument(
        "--of",
        choices=[_JOB, *_TOLD],
        default=_JOB,
        help="the job file (default), or the command whose --json it is",
    )
    parser.set_defaults(run=run)


_TOLD = (
    "pieces",
    "hide",
    "repeat",
    "lay",
    "compare",
    "advise",
    "order",
    "pattern",
    "check",
    "write",
    "cut",
    "print",
    "done",
)


def run(arguments: argparse.Namespace) -> int:
    """Print the schema."""
    say_json(_job() if arguments.of == _JOB else result_schema(arguments.of), indent=2)
    return 0


def _job() -> dict[str, Any]:
    from nesting.job.file import job_schema

    return job_schema()


def result_schema(command: str) -> dict[str, Any]:
    """Return the JSON Schema of what a command prints with ``--json``, from its record."""
    from pydantic import TypeAdapter
    from pydantic.json_schema import GenerateJsonSchema

    from ..records import RESULTS
    from ..told import UNITS, name_of

    class Told(GenerateJsonSchema):
        """Numbers that are not finite are told as null; a field that is told is always there."""

        def float_schema(self, schema: Any) -> dict[str, Any]:
            return {"type": ["number", "null"]}

        def field_is_required(self, *_: Any, **__: Any) -> bool:
            return True

    found = TypeAdapter(RESULTS[command]).json_schema(
        mode="serialization", schema_generator=Told, ref_template="#/$defs/{model}"
    )
    definitions = found.pop("$defs", {})
    _closed([found, *definitions.values()])
    return {
        "$schema": GenerateJsonSchema.schema_dialect,
        "title": f"What thriftlay {command} --json prints",
        "type": "object",
        "properties": {
            "schema": {"const": name_of(command)},
            "program": {"type": "string", "description": "name and version"},
            "units": {
                "description": "of every figure in the result",
                "type": "object",
                "properties": {what: {"const": unit} for what, unit in UNITS.items()},
                "required": list(UNITS),
                "additionalProperties": False,
            },
            "currency": {"type": ["string", "null"], "description": "of every cost"},
            "result": found,
        },
        "required": ["schema", "program", "units", "currency", "result"],
        "additionalProperties": False,
        "$defs": definitions,
    }


def _closed(records: list[dict[str, Any]]) -> None:
    """Let records have the fields that are stated and no others, and no examples in Python."""
    for record in records:
        if "description" in record:
            record["description"] = record["description"].partition("\n\nExamples\n")[0]
        if "properties" in record:
            record["additionalProperties"] = False
