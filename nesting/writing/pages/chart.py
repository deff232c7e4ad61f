"""A chart of widths compared: cloth bought, cost and marker efficiency at each width."""

from __future__ import annotations

import io
from collections.abc import Sequence
from pathlib import Path

from matplotlib.axes import Axes
from matplotlib.backends.backend_agg import FigureCanvasAgg
from matplotlib.figure import Figure

from nesting.amounts import METRIC, Amounts
from nesting.planning.compare import Trial
from nesting.planning.summary import summary
from nesting.units import AREA_UNITS, LENGTH_UNITS
from nesting.writing.files import whole_file

__all__ = ["width_chart", "write_width_chart"]

_BAR, _BEST, _LINE = "#9db4c0", "#2f6f73", "#b5562b"


def write_width_chart(
    trials: Sequence[Trial],
    path: Path | str,
    *,
    amounts: Amounts = METRIC,
    overwrite: bool = False,
) -> Path:
    """Write the chart of widths (`width_chart`) into a file."""
    data = width_chart(trials, amounts=amounts)
    with whole_file(Path(path), overwrite=overwrite) as temporary:
        temporary.write_bytes(data)
    return Path(path)


def width_chart(trials: Sequence[Trial], *, amounts: Amounts = METRIC) -> bytes:
    """Draw one row per cloth: length to buy with its cost, area and efficiency (PNG)."""
    names = list(dict.fromkeys(trial.material for trial in trials))
    figure = Figure(figsize=(9.0, 2.8 * len(names)), layout="constrained", dpi=130)
    FigureCanvasAgg(figure)
    axes = figure.subplots(len(names), 2, squeeze=False)
    for row, name in enumerate(names):
        of_cloth = [trial for trial in trials if trial.material == name]
        _bought(axes[row][0], name, of_cloth, amounts)
        _filled(axes[row][1], name, of_cloth, amounts)
    held = io.BytesIO()
    figure.savefig(held, format="png")
    return held.getvalue()


def _labels(trials: Sequence[Trial], amounts: Amounts) -> list[str]:
    folded = {"folded": ", folded"}
    return [f"{amounts.setting(t.width.booked)}{folded.get(t.fold, '')}" for t in trials]


def _bought(axes: Axes, name: str, trials: Sequence[Trial], amounts: Amounts) -> None:
    unit = amounts.length_unit
    each = LENGTH_UNITS[unit]
    lengths = [t.entry.buying.to_buy.value / each if t.entry else 0.0 for t in trials]
    best = [bool(t.cheapest) or (t.cheapest is None and t.least) for t in trials]
    colours = [_BEST if b else _BAR for b in best]
    bars = axes.bar(_labels(trials, amounts), lengths, color=colours, width=0.6)
    several = any(len(t.needed) > 1 for t in trials)
    if several:
        # What each seed needed, as a range: how sure the length is.
        low = [min(t.needed) / each if t.needed else 0.0 for t in trials]
        high = [max(t.needed) / each if t.needed else 0.0 for t in trials]
        middle = [(a + b) / 2 for a, b in zip(low, high, strict=True)]
        off = [(b - a) / 2 for a, b in zip(low, high, strict=True)]
        axes.errorbar(range(len(low)), middle, yerr=off, fmt="none", ecolor=_LINE, capsize=8)
    range_of = "; the line: what the seeds needed" if several else ""
    axes.set_title(f"{name}: length to buy{range_of}", fontsize=9, loc="left")
    axes.set_ylabel(unit)
    notes = []
    for trial in trials:
        cost = "" if trial.cost is None else f"\n{trial.cost:.2f}"
        notes.append(
            f"{amounts.said(trial.entry.buying.to_buy)}{cost}" if trial.entry else "does not fit"
        )
    axes.bar_label(bars, labels=notes, fontsize=8)
    axes.margins(x=0.3, y=0.25)


def _filled(axes: Axes, name: str, trials: Sequence[Trial], amounts: Amounts) -> None:
    fits = [trial for trial in trials if trial.entry]
    unit = amounts.area_unit
    areas = [trial.area / AREA_UNITS[unit] for trial in fits if trial.area is not None]
    colours = [_BEST if t.least else _BAR for t in fits]
    bars = axes.bar(_labels(fits, amounts), areas, color=colours, width=0.6)
    notes = [
        f"{amounts.area(t.area)}\n{100 * summary(t.entry).efficiency:.0f} % marker efficiency\n"
        f"{100 * (t.waste or 0.0):.0f} % waste"
        for t in fits
        if t.entry and t.area is not None
    ]
    axes.bar_label(bars, labels=notes, fontsize=8)
    axes.set_title(f"{name}: cloth bought", fontsize=9, loc="left")
    axes.set_ylabel(unit)
    axes.margins(x=0.3, y=0.4)
