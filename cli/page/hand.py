"""What is done to a marker by hand: each change is judged, and can be undone."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Any

from nesting.errors import JobError
from nesting.planning.by_hand import ByHand, Change
from nesting.writing.neutral.keys import job_keys
from nesting.writing.pages.live.marker import live_ground, live_marker, live_part

from . import shown
from .taking import searching_time

if TYPE_CHECKING:
    from .work import Work

__all__ = ["ANSWERS"]

Json = dict[str, Any]

WAYS = {"start": (-1.0, 0.0), "end": (1.0, 0.0), "up": (0.0, 1.0), "down": (0.0, -1.0)}
"""Directions in which a part may slide."""


def drawing(work: Work, asked: Json) -> Json:
    """Draw one ground of a marker."""
    number, sheet = int(asked["marker"]), int(asked.get("sheet", 0))
    entry = work.now(number)
    version = work.versions[number]
    if not 0 <= sheet < entry.marker.grounds:
        raise JobError("the marker has no such sheet", hint="load the page again")
    names = asked.get("names") != "no"
    drawn = live_marker(entry, sheet=sheet, keys=job_keys(work.job), names=names)
    return {**drawn, "version": version, "number": number, "sheet": sheet}


def tried(work: Work, asked: Json) -> Json:
    """Say what the judge would find of a part elsewhere."""
    number, part, hand = _asked(work, asked)
    parts = _several(asked, part)
    found = (
        hand.tried_together(parts, _change(asked))
        if len(parts) > 1
        else hand.tried(part, _change(asked))
    )
    return {"findings": shown.findings(found, work.now(number))}


def moved(work: Work, asked: Json) -> Json:
    """Move a part, turn it, or lay it on its other face."""
    with work.lock:
        number, part, hand = _asked(work, asked)
        change = _change(asked)
        if asked.get("turn") == "next":
            change = Change(turn=hand.next_turn(part))
        found = hand.change(part, change)
        if asked.get("slide") in WAYS:
            found = hand.slide(part, WAYS[asked["slide"]])
        return _after(work, number, part, found)


def together(work: Work, asked: Json) -> Json:
    """Change several parts as one."""
    with work.lock:
        number, part, hand = _asked(work, asked)
        parts = _several(asked, part)
        found = hand.together(parts, _change(asked))
        if asked.get("slide") in WAYS:
            found = hand.slide_together(parts, WAYS[asked["slide"]])
        return _all_after(work, number, parts, found)


def to_sheet(work: Work, asked: Json) -> Json:
    """Lay parts on another sheet, or on a further one of a kind."""
    with work.lock:
        number, part, hand = _asked(work, asked)
        parts = _several(asked, part)
        sheet, kind = asked.get("to"), asked.get("kind")
        found = hand.to_sheet(
            parts,
            sheet=None if sheet is None else int(sheet),
            kind=None if kind is None else int(kind),
        )
        return _all_after(work, number, parts, found)


def laid(work: Work, asked: Json) -> Json:
    """Lay a part that does not lie yet."""
    with work.lock:
        number, part = int(asked["marker"]), int(asked["part"])
        hand = work.hand(number, int(asked["version"]))
        found = hand.lay(part, sheet=int(asked.get("sheet") or 0))
        return _all_after(work, number, [part], found)


def slid(work: Work, asked: Json) -> Json:
    """Move a part, or several as one, until it touches."""
    with work.lock:
        number, part, hand = _asked(work, asked)
        parts, way = _several(asked, part), WAYS[str(asked["way"])]
        if len(parts) > 1:
            return _all_after(work, number, parts, hand.slide_together(parts, way))
        found = hand.slide(part, way)
        return _after(work, number, part, found)


def stepped(work: Work, asked: Json) -> Json:
    """Take a step back, do one again, or go on with what a search has found."""
    with work.lock:
        number = int(asked["marker"])
        hand = work.hand(number, int(asked["version"]))
        step = asked.get("step")
        offered = work.offered(number)
        if step == "found" and offered is not None:
            hand.take(offered.marker)
        elif not (hand.undo() if step == "undo" else step == "redo" and hand.redo()):
            raise JobError("there is no such step")
        return {"version": work.touched(number), "steps": list(hand.steps)}


def held(work: Work, asked: Json) -> Json:
    """Hold a part, or all, where they lie; or let them go."""
    with work.lock:
        number = int(asked["marker"])
        hand = work.hand(number, int(asked["version"]))
        parts = _several(asked, asked.get("part"))
        (hand.hold if asked.get("hold") is True else hand.release)(*parts)
        return {"version": work.touched(number), "steps": list(hand.steps)}


def pushed(work: Work, asked: Json) -> Json:
    """Push the parts together."""
    with work.lock:
        number = int(asked["marker"])
        hand = work.hand(number, int(asked["version"]))
        hand.push()
        return {"version": work.touched(number), "steps": list(hand.steps)}


def rest(work: Work, asked: Json) -> Json:
    """Begin to lay all that is not held round what is."""
    number = int(asked["marker"])
    hand = work.hand(number, int(asked["version"]))
    if not any(part.held for part in hand.marker.lay.parts):
        raise JobError("nothing is held", hint="hold the parts that are to stay first")
    work.search(work.now(number).material.name, searching_time(asked), rest=number)
    return {}


def _asked(work: Work, asked: Json) -> tuple[int, int, ByHand]:
    number, part = int(asked["marker"]), int(asked["part"])
    hand = work.hand(number, int(asked["version"]))
    hand.placement(part)  # or refused
    return number, part, hand


def _several(asked: Json, part: Any) -> list[int]:
    """Return the parts that are asked about, each once: the one in hand first."""
    also = asked.get("also") or ()
    return list(dict.fromkeys(int(one) for one in (part, *also) if one is not None))


def _change(asked: Json) -> Change:
    along, across = float(asked.get("along", 0.0)), float(asked.get("across", 0.0))
    turn = asked.get("turn", 0.0)
    turn = 0.0 if turn == "next" else float(turn)
    if not all(math.isfinite(number) and abs(number) < 1e6 for number in (along, across, turn)):
        raise JobError("no part can be moved so far")
    return Change(along=along, across=across, turn=turn, flip=bool(asked.get("flip", False)))


def _after(work: Work, number: int, part: int, found: Any) -> Json:
    version = work.touched(number)
    entry = work.now(number)
    sheet = work.hands[number].placement(part).sheet
    return {
        "version": version,
        "steps": list(work.hands[number].steps),
        "part": live_part(entry, part, keys=job_keys(work.job)),
        "ground": live_ground(entry, sheet=sheet),
        "findings": shown.findings(found, entry),
    }


def _all_after(work: Work, number: int, parts: list[int], found: Any) -> Json:
    """Return what is new after a step with several parts, or on another sheet."""
    version = work.touched(number)
    entry, hand = work.now(number), work.hands[number]
    sheet = hand.placement(parts[0]).sheet
    return {
        "version": version,
        "steps": list(hand.steps),
        "sheet": sheet,
        "grounds": entry.marker.grounds,
        "findings": shown.findings(found, entry),
    }


ANSWERS = {
    "/marker": ("GET", drawing),
    "/hand/try": ("POST", tried),
    "/hand/move": ("POST", moved),
    "/hand/together": ("POST", together),
    "/hand/sheet": ("POST", to_sheet),
    "/hand/lay": ("POST", laid),
    "/hand/slide": ("POST", slid),
    "/hand/step": ("POST", stepped),
    "/hand/hold": ("POST", held),
    "/hand/push": ("POST", pushed),
    "/hand/rest": ("POST", rest),
}
"""What is answered here: how it is asked, and who answers."""
