"""What would save, found beside all else, as the command does it."""

from __future__ import annotations

import threading
from collections.abc import Callable, Iterable
from typing import TYPE_CHECKING, Any

from nesting.advice.kept import KeptProposal, kept_in
from nesting.errors import JobError, NestingError

from ..arguments import widths

if TYPE_CHECKING:
    from nesting import Job
    from nesting.advice.advise import Advice
    from nesting.advice.change import Change
    from nesting.advice.words import Advised

    from .work import Work

__all__ = ["ANSWERS", "Advising"]

Json = dict[str, Any]

_MINUTES = 60
"""Minutes that it may take at most."""


class Advising:
    """The last advice, and whether one is looked for; `tell` hears of its end."""

    def __init__(self, tell: Callable[..., None]) -> None:
        self._tell = tell
        self.found: Advice | None = None
        self.trouble = ""
        self._running: threading.Thread | None = None
        self._stop = threading.Event()

    @property
    def running(self) -> bool:
        """Whether it goes on."""
        return self._running is not None and self._running.is_alive()

    def begin(self, job: Job, **how: Any) -> None:
        """Begin to look for what would save."""
        self._stop.clear()
        self.found, self.trouble = None, ""
        self._running = threading.Thread(target=self._run, args=(job, how), daemon=True)
        self._running.start()
        self._tell("advising")

    def stop(self) -> None:
        """End it with what is known."""
        self._stop.set()

    def end(self) -> None:
        """End it, and wait for that."""
        self.stop()
        if self._running is not None:
            self._running.join()

    def _run(self, job: Job, how: Json) -> None:
        from nesting.advice.advise import advise  # with a search's libraries: not until asked for

        try:
            self.found = advise(job, stop=self._stop.is_set, **how)
        except NestingError as error:
            self.trouble = str(error)
        finally:
            self._running = None
            self._tell("advised")


def advice(work: Work, asked: Json) -> Json:
    """Tell of the last advice, or of the best of one that lies beside the plan."""
    held = work.advising
    told = {
        "running": held.running,
        "trouble": held.trouble,
        "materials": [material.name for material in work.job.materials],
        "cloths": bool(work.job.cloths),
        "known": True,
        **_NOTHING,
    }
    if held.found is not None:
        return told | _all(held.found)
    found = None if held.running else kept_in(work.keeper.folder, work.job)
    if found is None:
        return told | {"known": False}
    return told | {
        "held": [f"{m.needs}{f'; {m.held}' if m.held else ''}" for m in found.materials],
        "best": _rows(found.best),
        "more": found.more,
    }


_NOTHING: Json = {
    "held": [],
    "best": [],
    "more": 0,
    "certain": "",
    "open": [],
    "vain": [],
    "left_out": [],
    "untried": [],
}


def _all(found: Advice) -> Json:
    """Return all that an advice says, as the command prints it."""
    from nesting.advice.words import advised, base_words, chain_words, criterion

    job = found.job
    return {
        "held": [
            base_words(one, job.amounts, currency=job.currency)
            + (f"; {chain_words(one.chain)}" if one.chain else "")
            for one in found.as_it_is
        ],
        "best": _rows(advised(one, found) for one in found.proposals),
        "certain": criterion(found) if found.proposals else "",
        "open": _rows(advised(one, found) for one in found.open),
        "vain": _changes((one, "") for one in found.vain),
        "left_out": _changes(found.left_out),
        "untried": _changes((one, "") for one in found.untried),
    }


def _rows(proposals: Iterable[Advised | KeptProposal]) -> list[list[str]]:
    return [
        [f"{one.material}: {one.what}", one.saves, one.money, one.write, one.beware]
        for one in proposals
    ]


def _changes(changes: Iterable[tuple[Change, str]]) -> list[str]:
    return [f"{one.material}: {one.what}{f' ({why})' if why else ''}" for one, why in changes]


def begin(work: Work, asked: Json) -> Json:
    """Begin to look for advice."""
    with work.lock:
        if work.searching or work.comparison.running or work.advising.running:
            raise JobError("a search is going on already", hint="stop it first")
        work.read_again()
        only = asked.get("only")
        only = None if only in (None, "") else [str(only)]
        work.job.wanted(only)  # or refused
        minutes = min(max(float(asked.get("minutes") or 2.0), 0.05), _MINUTES)
        others = str(asked.get("widths") or "").strip()
        work.advising.begin(
            work.job,
            only=only,
            widths=(widths(others, unit=work.job.unit) or ()) if others else (),
            seconds=60.0 * minutes,
            workers=work.workers,
        )
    return {}


def stop(work: Work, asked: Json) -> Json:
    """End it with what is known."""
    work.advising.stop()
    return {}


ANSWERS = {
    "/advice": ("GET", advice),
    "/advice/begin": ("POST", begin),
    "/advice/stop": ("POST", stop),
}
"""What is answered here: how it is asked, and who answers."""
