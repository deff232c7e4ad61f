"""Widths of cloth compared, and bags there is enough for, as the command and the page say it."""

from __future__ import annotations

from collections import Counter
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from nesting import Job, Trial
    from nesting.planning.orders.most_bags import MostBags

__all__ = ["HEAD", "enough", "rows", "sums"]

HEAD = (
    *("material", "width", "needed", "at hand", "buy", "area", "cost"),
    *("efficiency", "waste", ""),
)


def rows(trials: tuple[Trial, ...], job: Job) -> list[list[str]]:
    """Return a row for each trial, of texts under `HEAD`."""
    rivals = Counter(trial.material for trial in trials)
    return [_row(trial, job, rivals[trial.material]) for trial in trials]


def _row(trial: Trial, job: Job, rivals: int) -> list[str]:
    from nesting.planning.summary import summary
    from nesting.quantity import NO_LENGTH

    amounts, currency = job.amounts, job.currency
    width = amounts.setting(trial.width.booked)
    if trial.fold == "folded":
        width += " folded"
    tried = trial.tried
    if tried is None or trial.why or trial.area is None:
        return [trial.material, width, *[""] * 7, f"can't be used: {trial.why}"]
    seeds = len(trial.needed)
    words = [_mark("cheapest", trial.cheapest_in, seeds)] if trial.cheapest else []
    words += [_mark("least cloth", trial.least_in, seeds)] if trial.least else []
    words += ["taken"] if trial.taken else []
    words = words if rivals > 1 else []
    words += [] if trial.good else ["NOT GOOD"]
    spread = f" (+{amounts.size(trial.spread)})" if seeds > 1 else ""
    return [
        trial.material,
        width,
        f"{amounts.taken(tried.needed or NO_LENGTH)}{spread}",
        amounts.taken(tried.from_stock) if tried.from_stock else "",
        amounts.said(tried.to_buy),
        amounts.area(trial.area),
        "" if trial.cost is None else f"{trial.cost:.2f} {currency}".rstrip(),
        "" if trial.entry is None else f"{100 * summary(trial.entry).efficiency:.1f} %",
        "" if trial.waste is None else f"{100 * trial.waste:.1f} %",
        ", ".join(words),
    ]


def _mark(word: str, times: int, seeds: int) -> str:
    return word if seeds < 2 else f"{word} in {times} of {seeds} seeds"


def sums(trials: tuple[Trial, ...], job: Job) -> str:
    """Say what all cloths come to on their best widths, or which fit on none."""
    from nesting.planning.compare import compared

    cloths = dict.fromkeys(trial.material for trial in trials)
    fitting = {trial.material for trial in trials if trial.good and not trial.why}
    if nowhere := [name for name in cloths if name not in fitting]:
        return f"fits on none of these widths: {', '.join(nowhere)}"
    total = compared(trials)
    words = [f"all cloths on the widths that take least: {job.amounts.area(total.area)}"]
    if total.cost is not None:
        words.append(f"on the cheapest: {total.cost:.2f} {job.currency}".rstrip())
    return "; ".join(words)


def enough(found: MostBags) -> str:
    """Say how many whole bags there is enough for."""
    bags = "1 whole bag" if found.bags == 1 else f"{found.bags} whole bags"
    return f"at hand is enough for {bags}; the area would do for {found.at_most} at most"
