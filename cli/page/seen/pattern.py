"""What is seen in a scan or a photograph of a pattern, before it is taken."""

from __future__ import annotations

import base64
from typing import TYPE_CHECKING, Any

from nesting.reading.listing import headline, list_pieces

if TYPE_CHECKING:
    from nesting.reading.pattern_file import Pattern

__all__ = ["seen_in"]


def seen_in(pattern: Pattern) -> dict[str, Any]:
    """Return what was found, drawn over the picture, and how far each piece may be off."""
    from nesting.reading.pictures.overlay import overlay_jpeg  # with what reads pictures

    say, shown = pattern.amounts, ""
    if pattern.shown is not None:
        held = base64.b64encode(overlay_jpeg(pattern.shown, pattern.found)).decode("ascii")
        shown = f"data:image/jpeg;base64,{held}"
    return {
        "shown": shown,
        "said": headline(pattern, say),
        "rows": [
            [
                row.name,
                say.sizes(row.length, row.width),
                "" if row.uncertainty is None else say.fine(row.uncertainty),
            ]
            for row in list_pieces(pattern)
        ],
        "notes": [f.text for f in pattern.findings if f.severity != "fault"],
    }
