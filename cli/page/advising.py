"""What would save, found beside all else, as the command does it."""

from __future__ import annotations

import threading
from collections.abc import Callable
from typing import TYPE_CHECKING, Any

from nesting.advice.kept import KeptAdvice, kept_in
from nesting.errors import JobError, NestingError

if TYPE_CHECKING:
    from nesting import Job

    from .work import Work

__all__ = ["ANSWERS", "Advising"]

Json = dict[str, Any]

_MINUTES = 60
"""Minutes that it may take at most."""


class Advising:
    """The last advice, and whether one is looked for; `tell` hears of its end."""

    def __init__(self, tell: Callable[..., None]) -> None:
        self._tell = tell
        self.found: KeptAdvice | None = None
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
        from nesting.advice.keeping import kept

        try:
            self.found = kept(advise(job, stop=self._stop.is_set, **how))
        except NestingError as error:
            self.trouble = str(error)
        finally:
            self._running = None
            self._tell("advised")


def advice(work: Work, asked: Json) -> Json:
    """Tell of the last advice, or of the one that lies beside the plan."""
    held = work.advising
    found = held.found or (None if held.running else kept_in(work.keeper.folder, work.job))
    return {
        "running": held.running,
        "trouble": held.trouble,
        "known": found is not None,
        "materials": [material.name for material in work.job.materials],
        "held": [f"{m.needs}{f'; {m.held}' if m.held else ''}" for m in found.materials]
        if found
        else [],
        "best": [
            [f"{one.material}: {one.what}", one.saves, one.money, one.write, one.beware]
            for one in found.best
        ]
        if found
        else [],
        "more": found.more if found else 0,
    }


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
        work.advising.begin(work.job, only=only, seconds=60.0 * minutes, workers=work.workers)
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
