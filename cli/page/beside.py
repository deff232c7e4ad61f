"""Markers of the same parts side by side: as in hand, as found, on another width."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING, Any

from nesting.errors import JobError
from nesting.planning.by_hand import with_marker
from nesting.writing.neutral.keys import job_keys
from nesting.writing.pages.live.marker import live_marker
from nesting.writing.pages.wording import headline

if TYPE_CHECKING:
    from nesting import Entry, Job

    from .work import Work

__all__ = ["ANSWERS"]

Json = dict[str, Any]


def choices(work: Work, asked: Json) -> Json:
    """Name the markers that can be looked at beside one of the plan."""
    number = int(asked["marker"])
    return {
        "markers": [
            {"key": key, "what": what, "wide": _wide(entry, job), "grounds": entry.marker.grounds}
            for key, what, entry, job in _markers(work, number)
        ]
    }


def drawing(work: Work, asked: Json) -> Json:
    """Draw one of these markers, and say what it comes to."""
    number, sheet = int(asked["marker"]), int(asked.get("sheet", 0))
    for key, _, entry, job in _markers(work, number):
        if key == asked.get("which"):
            sheet = min(max(sheet, 0), entry.marker.grounds - 1)
            _, words = headline(entry, job.amounts, currency=job.currency)
            faults = sum(finding.severity == "fault" for finding in entry.findings)
            return {
                **live_marker(entry, sheet=sheet, keys=job_keys(job)),
                "figures": words,
                "good": entry.good,
                "faults": faults,
                "unplaced": len(entry.unplaced),
            }
    raise JobError("there is no such marker any more", hint="choose another")


def _markers(work: Work, number: int) -> Iterator[tuple[str, str, Entry, Job]]:
    """Give by what each is asked for, what it is (`words.beside`), itself, and its job."""
    entry, plan = work.now(number), work.settled()
    yield "now", "now", plan.entries[number], plan.job
    hand, offered = work.hands.get(number), work.offered(number)
    if offered is not None:
        yield "offered", "offered", offered, plan.job
    if hand is not None and hand.first != hand.marker:
        yield "first", "first", with_marker(plan, number, hand.first).entries[number], plan.job
    job = work.comparison.job
    for n, trial in enumerate(work.comparison.trials):
        mine = trial.material == entry.material.name
        if mine and job is not None and trial.entry is not None:
            yield f"trial-{n}", "trial", trial.entry, job


def _wide(entry: Entry, job: Job) -> str:
    """Return how wide the cloth is, in words; empty for goods that are not sold by width."""
    return "" if entry.width is None else job.amounts.setting(entry.width.booked)


ANSWERS = {"/beside": ("GET", choices), "/beside/marker": ("GET", drawing)}
"""What is answered here: how it is asked, and who answers."""
