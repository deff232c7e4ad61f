"""What can go wrong, and how it is told.

    NestingError
    ├── JobError        a job file, or a value in it, can't be used      (also ValueError)
    ├── PatternError    a piece, or a pattern file, can't be used        (also ValueError)
    ├── MachineError    a machine file can't be used, or mustn't be      (also ValueError)
    ├── PlanError       a stored plan can't be read back                 (also ValueError)
    └── WriteError      a file can't be written, or mustn't be           (also OSError)

An exception is for input that can't be used. A lay that can't be met or a
search that ran out of time is a *result*; trouble inside good data is a list of
`Finding`.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

from nesting.limits import LONGEST_MESSAGE

__all__ = [
    "Finding",
    "JobError",
    "MachineError",
    "NestingError",
    "PatternError",
    "PlanError",
    "Severity",
    "WriteError",
    "one_line",
]


def one_line(text: str, *, most: int = LONGEST_MESSAGE) -> str:
    """Return a text on one line of bounded length, with nothing that a terminal acts on."""
    text = " ".join(text[: 4 * most + 4].split())
    text = "".join(c if c.isprintable() else "?" for c in text)
    return text if len(text) <= most else text[: most - 1] + "…"


class NestingError(Exception):
    """An input that can't be used: what is wrong, where, and what to do.

    Parameters
    ----------
    what
        One sentence without a full stop that says what is wrong.
    file, field, line
        Where: the file's name, the field's dotted path, the line (from 1).
    hint
        What to do about it, one short sentence.

    Examples
    --------
    >>> try:
    ...     parse_job("[job]")
    ... except NestingError as error:
    ...     print(error)
    job:1: job: "name" is missing (add it)

    """

    def __init__(
        self,
        what: str,
        *,
        file: str | None = None,
        field: str | None = None,
        line: int | None = None,
        hint: str | None = None,
    ) -> None:
        super().__init__(what)
        self.what = what
        self.file = file
        self.field = field
        self.line = line
        self.hint = hint

    def located(
        self, *, file: str | None = None, field: str | None = None, line: int | None = None
    ) -> NestingError:
        """Return the same error with the places filled in that it did not know."""
        return type(self)(
            self.what,
            file=self.file or file,
            field=self.field or field,
            line=self.line if self.line is not None else line,
            hint=self.hint,
        )

    def __str__(self) -> str:
        where = one_line(self.file or "")
        if self.line is not None:
            where += f":{self.line}" if where else f"line {self.line}"
        parts = [part for part in (where, one_line(self.field or "", most=160)) if part]
        text = ": ".join([*parts, one_line(self.what)])
        return f"{text} ({one_line(self.hint)})" if self.hint else text


class JobError(NestingError, ValueError):
    """A job file, or a value in it, can't be used.

    Examples
    --------
    >>> make_plan(replace(job, bags=(pouch, pouch)), seconds=1)
    Traceback (most recent call last):
        ...
    nesting.errors.JobError: two bags are named "pouch" (name one of them otherwise)

    """


class PatternError(NestingError, ValueError):
    """A piece, or a pattern file, can't be used.

    Examples
    --------
    >>> circle(0)
    Traceback (most recent call last):
        ...
    nesting.errors.PatternError: an ellipse's length has to be more than 0, got 0 mm

    """


class MachineError(NestingError, ValueError):
    """A machine file can't be used, or must not be used with this material.

    Examples
    --------
    >>> read_machine("no_such_machine.toml")
    Traceback (most recent call last):
        ...
    nesting.errors.MachineError: no_such_machine.toml: there is no such file (check the name)

    """


class PlanError(NestingError, ValueError):
    """A stored plan can't be read back.

    Examples
    --------
    >>> load_plan("no_such_plan.json")
    Traceback (most recent call last):
        ...
    nesting.errors.PlanError: no_such_plan.json: there is no such file (check the name)

    """


class WriteError(NestingError, OSError):
    """A file can't be written, or must not be.

    Examples
    --------
    >>> save_plan(plan, "no_such_folder/plan.json")
    Traceback (most recent call last):
        ...
    nesting.errors.WriteError: no_such_folder/plan.json: can't be written: ...

    """


class Severity(StrEnum):
    """How much a finding matters."""

    FAULT = "fault"
    """The thing must not be used as it is."""
    NOTE = "note"
    """Worth knowing; nothing is wrong."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Finding:
    """Something found in data, as data.

    `kind` is a stable word for programs (``"overlap"``, ``"gap"``, ``"outside"``…),
    `text` the sentence for people, `parts` the names of the parts concerned,
    `amount` the size of the trouble in mm, mm² or degrees where it has one, and
    `at` a point in marker coordinates (mm) where one can look.

    Examples
    --------
    >>> (finding,) = check(spoilt)
    >>> finding.severity, finding.kind, finding.parts, finding.amount
    (<Severity.FAULT: 'fault'>, 'outside', ('front 1 of 2',), 1.0)

    """

    kind: str
    text: str
    severity: Severity = Severity.FAULT
    parts: tuple[str, ...] = ()
    amount: float | None = None
    at: tuple[float, float] | None = None
