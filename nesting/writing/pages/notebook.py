"""A marker and a plan as a notebook shows them: pictures, and the figures in a small table."""

from __future__ import annotations

from markupsafe import Markup

from nesting.amounts import METRIC
from nesting.errors import Severity
from nesting.marker.figures import figures
from nesting.marker.marker import Marker
from nesting.planning.plan import Entry, Plan
from nesting.writing.neutral.draw import draw
from nesting.writing.pages.markup import Table, filled
from nesting.writing.pages.view import screen_lettering, screen_svg
from nesting.writing.pages.wording import (
    counted,
    entry_title,
    laid_on,
    money,
    percent,
    to_buy,
)

__all__ = ["marker_html", "marker_svg", "plan_html"]

_ACROSS = 250.0  # mm: about the width of a notebook's page on screen
_MOST = 12  # sheets that are drawn; more make a page that nobody scrolls through


def marker_svg(marker: Marker, *, sheet: int = 0) -> Markup:
    """Return a coloured picture of the marker, or one sheet of it, as an SVG element."""
    if not marker.grounds:
        return Markup('<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 1 1"></svg>')
    lettering = screen_lettering(draw(marker, sheet=sheet), across=_ACROSS)
    return screen_svg(draw(marker, sheet=sheet, lettering=lettering))


def marker_html(marker: Marker) -> str:
    """Return the marker's figures as a small table, and a picture of each of its sheets."""
    found = figures(marker)
    row = [
        marker.lay.name,
        f"{found.parts} of {len(marker.lay.parts)}",
        METRIC.needed(found.length)
        if marker.lay.stock.open_ended
        else counted(found.sheets, "sheet"),
        percent(found.efficiency),
    ]
    head = ["marker", "parts laid", "taken", "efficiency"]
    table = Table(caption=marker.lay.name, head=head, rows=[row])
    return filled("notebook.html", figures=table, markers=[_drawn(marker)])


def plan_html(plan: Plan) -> str:
    """Return the plan as a table, a line for each marker, and pictures of all of them."""
    head = ["material", "parts laid", "taken", "efficiency", "buy", "cost", "judged"]
    rows = [_row(entry, plan) for entry in plan.entries]
    table = Table(caption=plan.job.name, head=head, rows=rows)
    drawn = [_drawn(entry.marker, entry_title(entry)) for entry in plan.entries]
    return filled("notebook.html", figures=table, markers=drawn)


def _row(entry: Entry, plan: Plan) -> list[str]:
    amounts, found = plan.job.amounts, entry.figures
    bought = entry.width is None or bool(entry.buying.step)
    return [
        entry_title(entry),
        f"{found.parts} of {len(entry.marker.lay.parts)}",
        laid_on(entry) if entry.width is None else amounts.needed(found.length),
        percent(found.efficiency),
        to_buy(entry, amounts) if bought else "",
        "" if entry.buying.cost is None else money(entry.buying.cost, plan.job.currency),
        _judged(entry),
    ]


def _judged(entry: Entry) -> str:
    if entry.good:
        return "good"
    left = len(entry.unplaced)
    faults = [f for f in entry.findings if f.severity is Severity.FAULT]
    others = [f for f in faults if not left or f.kind != "missing"]
    words = [f"{counted(left, 'part')} not laid"] if left else []
    return ", ".join([*words, counted(len(others), "fault")] if others else words)


def _drawn(marker: Marker, title: str = "") -> dict[str, object]:
    """Return the pictures of a marker below its title, and what of it is not drawn."""
    unseen = marker.grounds - _MOST
    return {
        "title": title,
        "pictures": [marker_svg(marker, sheet=i) for i in range(min(marker.grounds, _MOST))],
        "more": f"and {counted(unseen, 'sheet')} more" if unseen > 0 else "",
    }
