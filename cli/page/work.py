"""The work on the table: a job, its markers, the search for them, and what is on disk."""

from __future__ import annotations

import threading
from collections.abc import Callable, Iterator
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING

import nesting
from nesting.errors import JobError, NestingError
from nesting.planning.better import better_of
from nesting.planning.by_hand import ByHand, refusal, with_marker

from .advising import Advising
from .comparing import Comparison
from .disk.keeping import Keeper, Saver, StaleError, mark_of

if TYPE_CHECKING:
    from nesting import Entry, Job, Marker, Plan, Progress

__all__ = ["QUICK", "Work", "shares"]

QUICK = 0.4
"""Seconds for the first markers of a job at most, so that there is something to see."""

_SLICE, _LONGER = 2.0, 3.0
"""Seconds after which what is better is taken first, and how many times as long each next time."""

_SPENT = 0.5
"""A search that ends before this share of its time has found the best there is."""

Tell = Callable[..., None]


def shares(seconds: float) -> Iterator[float]:
    """Yield the parts of a search's seconds after each of which its markers are shown."""
    share = _SLICE
    while seconds - share >= _LONGER * share:
        yield share
        seconds -= share
        share *= _LONGER
    yield seconds


class Work:
    """One job that is open.

    Its plan is replaced as a whole and never changed; `versions` tell pages which state of a
    marker they show. What is done to it is done under `lock`.

    Parameters
    ----------
    path
        A job file, or the plan.json of a folder.
    tell
        Is told what happened, from any thread.
    seconds, workers
        For a search of all materials.

    """

    def __init__(
        self, path: Path, *, tell: Tell, seconds: float = 30.0, workers: int | None = None
    ) -> None:
        self.lock = threading.RLock()
        self.tell, self.seconds, self.workers = tell, seconds, workers
        self.file: Path | None = None
        self.trouble = self.unsaved = ""
        self.plan: Plan | None = None
        if path.suffix == ".json":
            self.plan = nesting.load_plan(path)
            self.job, folder = self.plan.job, path.parent
        else:
            self.job, self.file = nesting.read_job(path), path
            folder = path.with_name(f"{path.stem}-laid")
        self.home = folder if self.file is None else path.parent
        self.keeper = Keeper(folder)
        if self.plan is None and self.keeper.file.exists():
            self.plan = nesting.load_plan(self.keeper.file)
        self.job_mark = "" if self.file is None else mark_of(self.file)
        self.versions: list[int] = []
        self._count = 0
        self.hands: dict[int, ByHand] = {}
        self.found: dict[str, Plan] = {}
        self.files: dict[str, tuple[Path, tuple[Marker, ...]]] = {}
        self.history: dict[str, list[str]] = {}
        self.progress: dict[str, Progress] = {}
        self._new_versions(None)
        self.comparison, self.advising = Comparison(tell), Advising(tell)
        self._searching: threading.Thread | None = None
        self._stop = threading.Event()
        self._runs = 0
        self._began: Marker | None = None
        self._saver = Saver(self._save, self._saved)

    # ------------------------------------------------------------ state

    @property
    def outdated(self) -> bool:
        """Whether the stored markers are of another state of the job."""
        if self.plan is None:
            return False
        return _content(self.plan.job) != _content(self.job)

    @property
    def searching(self) -> bool:
        """Whether a search goes on."""
        return self._searching is not None and self._searching.is_alive()

    @property
    def pending(self) -> bool:
        """Whether something is about to be saved."""
        return self._saver.pending

    def laid(self) -> Plan:
        """Return the plan, or say that there is none yet."""
        if self.plan is None:
            raise JobError("nothing is laid yet", hint="wait for the first markers")
        return self.plan

    def _new_versions(self, before: Plan | None) -> None:
        """Give every marker that is another than before a new version."""
        entries = () if self.plan is None else self.plan.entries
        old = () if before is None else before.entries
        kept = []
        for number, entry in enumerate(entries):
            same = number < len(old) and old[number].marker == entry.marker
            self._count += not same
            kept.append(self.versions[number] if same else self._count)
        self.versions = kept

    # ------------------------------------------------------------ the search

    def search(
        self, only: str | None = None, seconds: float | None = None, *, rest: int | None = None
    ) -> None:
        """Begin to search all materials, or one of them, beside all else.

        `rest`: the number of a marker in hand whose parts that are not held are laid anew.
        """
        with self.lock:
            if self.searching:
                raise JobError("a search is going on already", hint="stop it first")
            if self.comparison.running:
                raise JobError("widths are being compared", hint="wait for that, or stop it")
            if self.advising.running:
                raise JobError("what would save is looked for", hint="wait for that, or stop it")
            if only is not None:
                self.job.wanted([only])  # or refused
            self._stop.clear()
            self.trouble, self.progress, self.history = "", {}, {}
            self.read_again()
            self._began = None if rest is None else self.now(rest).marker
            limit = self.seconds if seconds is None else seconds
            how = (only, limit, rest)
            self._searching = threading.Thread(target=self._search, args=how, daemon=True)
            self._searching.start()
        self.tell("searching")

    def read_again(self) -> None:
        """Read the job anew if its file is another by now."""
        if self.file is not None and mark_of(self.file) != self.job_mark:
            self.job, self.job_mark = nesting.read_job(self.file), mark_of(self.file)

    def stop(self) -> None:
        """End the search with the best it has."""
        self._stop.set()

    def _search(self, only: str | None, seconds: float, rest: int | None) -> None:
        try:
            if self.plan is None or self.outdated:
                self._take(self._laid(None, QUICK, None, rounds=0), anew=True)
            if rest is not None:
                self._go_on(rest, self._laid(only, seconds, self._start()))
            else:
                self._improve(only, seconds)
        except NestingError as error:
            self.trouble = str(error)
        except Exception as error:
            self.trouble = f"the search has failed: {error}"
            raise
        finally:
            self._searching = None
            self.tell("searched")

    def _improve(self, only: str | None, seconds: float) -> None:
        """Search on, and take what was found now and then: it is seen, and on disk."""
        for share in shares(seconds):
            if self._stop.is_set():
                return
            found = self._laid(only, share, self._start())
            self._take(found)
            if found.seconds < _SPENT * share:
                return  # there is nothing more to find

    def _start(self) -> Plan:
        """Return what searches go on from: all but markers in hand of which nothing is held."""
        plan = self.settled()
        anew = {n for n in self.hands if not any(p.held for p in self.now(n).marker.lay.parts)}
        kept = tuple(entry for n, entry in enumerate(plan.entries) if n not in anew)
        return replace(plan, entries=kept)

    def _go_on(self, number: int, found: Plan) -> None:
        """Go on in hand with what was laid round the parts that are held: one step more."""
        with self.lock:
            key, hand = _key(self.now(number)), self.hands.get(number)
            for entry in found.entries:
                if hand is not None and _key(entry) == key:
                    if entry.marker.lay != hand.marker.lay or hand.marker != self._began:
                        raise JobError("the marker was changed meanwhile", hint="lay the rest anew")
                    hand.take(entry.marker)
            self.touched(number)
        self.tell("markers")

    def _laid(
        self, only: str | None, seconds: float, start: Plan | None, *, rounds: int | None = None
    ) -> Plan:
        self._runs += 1
        return nesting.make_plan(
            self.job,
            seconds=seconds,
            rounds=rounds,
            seed=self._runs,
            workers=self.workers,
            only=None if only is None else [only],
            observer=self._better,
            stop=self._stop.is_set,
            start=start,
        )

    def _better(self, progress: Progress) -> None:
        self.progress = {**self.progress, progress.lay: progress}
        said = self.job.amounts.needed(progress.length) if progress.length else ""
        steps = self.history.setdefault(progress.lay, [])
        if said and said not in steps[-1:]:
            steps.append(said)
        self.tell("progress")

    def _take(self, plan: Plan, *, anew: bool = False) -> None:
        """Take what is better of a plan that was found; leave what was made by hand."""
        with self.lock:
            before = self.plan
            if before is None or anew:
                self.plan, self.hands, self.found = plan, {}, {}
            else:
                hands = {_key(before.entries[n]): hand for n, hand in self.hands.items()}
                mine = {material for material, _ in hands}
                self.found |= {name: plan for name in mine if plan.entries_of(name)}
                theirs = tuple(e for e in plan.entries if e.material.name not in mine)
                self.plan = better_of(before, replace(plan, entries=theirs))
                numbers = {_key(entry): n for n, entry in enumerate(self.plan.entries)}
                self.hands = {numbers[key]: hand for key, hand in hands.items()}
            self._new_versions(before)
        self._saver.want()
        self.tell("markers")

    # ------------------------------------------------------------ by hand

    def now(self, number: int) -> Entry:
        """Return an entry of the plan with its marker as it is in hand, not yet judged anew."""
        plan = self.laid()
        if not 0 <= number < len(plan.entries):
            raise JobError("the plan has no such marker", hint="load the page again")
        entry = plan.entries[number]
        hand = self.hands.get(number)
        return entry if hand is None else replace(entry, marker=hand.marker)

    def hand(self, number: int, version: int) -> ByHand:
        """Return a marker to be changed by hand; it has to be the one the page shows."""
        entry = self.now(number)
        if version != self.versions[number]:
            raise StaleError("the marker was changed meanwhile", hint="it is shown anew")
        if number not in self.hands:
            if why := refusal(self.laid(), number):
                raise JobError(f"{entry.material.name}: {why}", hint="lay the job anew")
            self.hands[number] = ByHand(entry.marker, amounts=self.job.amounts)
        return self.hands[number]

    def touched(self, number: int) -> int:
        """Note that a marker was changed by hand, have it judged and saved; its new version."""
        self._count += 1
        self.versions[number] = self._count
        self._saver.want()
        return self._count

    def offered(self, number: int) -> Entry | None:
        """Return what a search has found for a marker that is in hand, if it fits in its place."""
        entry = self.now(number)
        found = self.found.get(entry.material.name)
        if number not in self.hands or found is None:
            return None
        for other in found.entries_of(entry.material.name):
            same = _key(other) == _key(entry) and other.marker.lay == entry.marker.lay
            if same and other.marker != entry.marker:
                return other
        return None

    def settled(self) -> Plan:
        """Return the plan with all that was changed by hand judged and reckoned up."""
        self._settle()
        return self.laid()

    def _settle(self) -> None:
        """Judge and reckon up what was changed by hand since the last time."""
        while True:
            with self.lock:
                plan, hands = self.plan, {n: hand.marker for n, hand in self.hands.items()}
            if plan is None:
                return
            settled = plan
            for number, marker in hands.items():
                if settled.entries[number].marker != marker:
                    settled = with_marker(settled, number, marker)
            with self.lock:
                if self.plan is plan:
                    self.plan = settled
                    return

    # ------------------------------------------------------------ disk

    def _save(self) -> None:
        self._settle()
        self.tell("judged")
        if self.plan is not None:
            self.keeper.write(self.plan)

    def _saved(self, trouble: str) -> None:
        self.unsaved = trouble
        self.tell("saved")

    def keep_mine(self) -> None:
        """Overwrite the stored plan that somebody else has changed."""
        self.keeper.accept()
        self._saver.want()

    def keep_theirs(self) -> None:
        """Take the stored plan that somebody else has changed."""
        with self.lock:
            before, self.plan = self.plan, nesting.load_plan(self.keeper.file)
            self.hands, self.unsaved = {}, ""
            self.keeper.accept()
            self._new_versions(before)
        self.tell("markers")

    def write(self, kinds: tuple[str, ...], *, insist: bool) -> tuple[Path, ...]:
        """Write the files of the plan beside it."""
        return self.keeper.write(self.settled(), kinds=kinds, insist=insist)

    def markers(self) -> tuple[Marker, ...]:
        """Return all markers as they are now."""
        return tuple(self.now(number).marker for number in range(len(self.versions)))

    def close(self) -> None:
        """End the search, save what it has, and end."""
        self.stop()
        self.comparison.end()
        self.advising.end()
        searching = self._searching
        if searching is not None:
            searching.join()
        self._saver.end()


def _key(entry: Entry) -> tuple[str, str]:
    return entry.material.name, entry.marker.lay.name


def _content(job: Job) -> Job:
    """Return a job without what is held, which is a plan's own, and without words about it."""
    return replace(job, held=(), assumptions=(), weighty=0)
