"""The best of an advice that was kept, for the report of a plan."""

from __future__ import annotations

from nesting.advice.kept import KeptAdvice
from nesting.writing.pages.markup import Passage, Table

__all__ = ["HEAD", "kept_passage"]

HEAD = ("Change", "Saves", "Money", "Write", "Mind")


def kept_passage(advice: KeptAdvice) -> Passage | None:
    """Return the best of a kept advice for the report of a plan; None if nothing saves."""
    if not advice.best:
        return None
    title = "What would save"
    rows = [[f"{w.material}: {w.what}", w.saves, w.money, w.write, w.beware] for w in advice.best]
    note = "Each was laid with several seeds, and saves more than chance would; see advice.html."
    if advice.more:
        note += f" {advice.more} more are there."
    return Passage(title, table=Table(caption=title, head=HEAD, rows=rows), note=note)
