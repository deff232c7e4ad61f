"""A scan or a photograph becomes items of a pattern, in mm, each told how far it may be off."""

from __future__ import annotations

from collections.abc import Sequence
from enum import StrEnum

import cv2
import numpy as np

from nesting.errors import Finding, PatternError, Severity
from nesting.pattern.measure import bounds
from nesting.reading.items import CLOSE, Group, Item, Role
from nesting.reading.pictures.contour import SHARP, edge_ring, line_ring, roughness, sharpness
from nesting.reading.pictures.dents import without_dents
from nesting.reading.pictures.edges import Points
from nesting.reading.pictures.fit import blunted, fitted
from nesting.reading.pictures.flat import Flat, flatten
from nesting.reading.pictures.inked import Inside, inked_inside
from nesting.reading.pictures.picture import Picture
from nesting.reading.pictures.references.reference import Reference
from nesting.reading.pictures.shown import Shown
from nesting.reading.pictures.things import Found, Thing, drawn_things, lying_things
from nesting.reading.raw_pattern import Draft, RawPattern, note
from nesting.reading.unit.scale import Claim

__all__ = ["Pen", "read_photograph"]

_PLACE = 0.5
"""How far an edge or a corner may lie from where it is seen (pixels): what renders never passed."""
_UNSEEN = 0.12
_HARDLY = 4.0
"""The same where the edge is hardly seen along a larger share: it may be that of a shadow."""
_SOFT, _CLEAR, _BY = 0.03, 0.96, 30.0
"""A thing is left out whose edge is no sharp one along a larger share: what is seen is the rim of
its shadow. An edge may lie so many pixels farther off for what its sharpness is below that of
paper: own renders of dark things whose shadows have their colour; none lay farther off."""
_ROUGHLY = 0.5
"""A dashed line may be so far (mm) off where its dashes are seen."""
_MOSTLY = 0.5
"""A drawn line about what fills a larger share of it is the ground close about that."""
_WITHIN = (0.3, 4.0)
"""A curve may lie so many pixels off the places it stands for, or so many times their roughness."""
_DOUBTFUL, _SHARE = 3.0, 0.01
"""That a piece may be off by more (mm, and as a share of the longest) is a fault."""


class Pen(StrEnum):
    """What of a drawn line is the outline."""

    MIDDLE = "middle"
    OUTSIDE = "outside"


def read_photograph(
    picture: Picture,
    references: Sequence[Reference],
    *,
    pen: Pen | None = None,
    close: float = CLOSE,
) -> tuple[RawPattern, Shown]:
    """Read the pieces in a picture.

    `pen`: the pieces are drawn, and the middle of the line is the outline or its outer edge; if
    None, paper that lies on a ground is looked for, and the middle of drawn lines where there is
    none. `close`: the widest gap (mm) of a drawn line that is closed.

    Raises
    ------
    PatternError
        If nothing gives the scale, or no piece is there.

    """
    flat = flatten(picture, references)
    found = _found(flat, pen, close)
    items = [item for thing in found.things for item in _items(flat, thing, pen, found)]
    if not items:
        raise _nothing(found)
    inside = inked_inside(flat, found.things)
    items += [_dashed(flat, thing) for thing in inside.dashed]
    items += inside.grain
    raw = RawPattern(
        kind="scan" if "scan" in flat.said or "dpi" in flat.said else "photograph",
        drafts=[Draft(group=Group(name="", items=items, loose=True))],
        claims=[Claim(factor=1.0, unit="mm", why=f"by {flat.said}", firm=True)],
        readings=("mm",),
        findings=[*flat.findings, *_told(flat, found, items, pen), *_unread(inside)],
        exact=True,
    )
    outlines = tuple(i.path for i in items if i.path is not None and i.role is not Role.NOTCH)
    shown = Shown(
        pixels=flat.pixels,
        mm_per_pixel=flat.mm_per_pixel,
        origin=flat.origin,
        outlines=outlines,
        references=tuple(
            tuple((float(x), float(y)) for x, y in corners) for corners in flat.references
        ),
        unread=inside.unread,
    )
    return raw, shown


def _found(flat: Flat, pen: Pen | None, close: float) -> Found:
    """Return what lies there, what is drawn, or both; what is in another is no piece."""
    if pen is not None:
        return drawn_things(flat, close=close)
    lying = lying_things(flat)
    if lying.things and not any(thing.line for thing in lying.things):
        return lying
    filled = [thing for thing in lying.things if not thing.line]
    drawn = drawn_things(flat, close=close)
    drawn.things = [one for one in drawn.things if not any(_same(one, other) for other in filled)]
    lying.things = [one for one in filled if not any(_within(one, o) for o in drawn.things)]
    if not drawn.things:
        return lying
    drawn.things += lying.things
    drawn.cut_off = max(drawn.cut_off, lying.cut_off)
    return drawn


def _same(drawn: Thing, filled: Thing) -> bool:
    """Tell whether what is drawn lies in what is filled, or is the dark ground close about it."""
    if _within(drawn, filled):
        return True
    return _within(filled, drawn) and abs(_area(filled.rim)) > _MOSTLY * abs(_area(drawn.rim))


def _within(thing: Thing, other: Thing) -> bool:
    """Tell whether a thing lies within the rim of another."""
    x, y = thing.rim[0]
    return cv2.pointPolygonTest(other.rim.astype(np.float32), (float(x), float(y)), False) >= 0.0


def _area(ring: Points) -> float:
    x, y = ring.T
    return 0.5 * float(x @ np.roll(y, -1) - y @ np.roll(x, -1))


def _items(flat: Flat, thing: Thing, pen: Pen | None, found: Found) -> list[Item]:
    """Return a thing's outline, cut-outs and notches; none if its edge is unclear, and count it."""
    if thing.ink:
        ring, unseen = line_ring(flat, thing, outside=pen is Pen.OUTSIDE)
        place = _HARDLY if unseen > _UNSEEN else _PLACE
        return _outline(flat, ring, Role.ANY, place=place, blunt=thing.ink)
    items: list[Item] = []
    for rim, role in ((thing.rim, Role.CUT), *((hole, Role.HOLE) for hole in thing.holes)):
        ring, unseen = edge_ring(flat, rim)
        sharp = sharpness(flat, ring)
        if float(np.mean(sharp < SHARP)) > _SOFT:
            found.unclear += 1
            return []
        place = _HARDLY if unseen > _UNSEEN else _PLACE
        place += _BY * max(0.0, _CLEAR - float(np.percentile(sharp, 100.0 * _SOFT)))
        items += _outline(flat, ring, role, place=place)
    return items


def _dashed(flat: Flat, thing: Thing) -> Item:
    """Return a dashed line: what is between its dashes is not seen, so it is followed roughly."""
    ring, _ = line_ring(flat, thing, outside=False)
    fit = fitted(flat.to_mm(ring), pixel=flat.mm_per_pixel, within=_ROUGHLY, blunt=thing.ink)
    off = flat.off_of(ring) + _HARDLY * flat.mm_per_pixel + fit.off
    return Item(role=Role.ANY, path=fit.path, off=off, dash="dashed")


def _outline(
    flat: Flat, ring: Points, role: Role, *, place: float, blunt: float = 0.0
) -> list[Item]:
    least, times = _WITHIN
    scale = flat.mm_per_pixel
    fit = fitted(
        flat.to_mm(ring),
        pixel=scale,
        within=max(least, times * roughness(ring)) * scale,
        blunt=blunt,
    )
    off = flat.off_of(ring) + place * scale + fit.off + blunted(fit.path, pen=blunt * scale)
    path, notches = (fit.path, []) if role is Role.HOLE else without_dents(fit.path)
    cuts = [Item(role=Role.NOTCH, path=notch, off=off) for notch in notches]
    return [Item(role=role, path=path, off=off), *cuts]


_LIGHT = "light them from both sides, or lay them on a ground of another colour"


def _nothing(found: Found) -> PatternError:
    if found.cut_off:
        return PatternError(
            "what lies in the picture runs off it",
            hint="photograph it so that ground is seen all round every piece",
        )
    if found.on_reference:
        return PatternError(
            "the pieces touch the sheet that gives the scale",
            hint="lay it beside them, with ground seen between",
        )
    if found.unclear:
        return PatternError(
            "where the pieces end is not seen: their shadows have their colour, or they are out of"
            " focus",
            hint=_LIGHT,
        )
    return PatternError(
        "no piece is seen in the picture",
        hint="lay pieces on a plain ground of another colour; a drawn outline has to be closed"
        " (--close of the command pieces closes wider gaps)",
    )


def _unread(inside: Inside) -> list[Finding]:
    """Say what is drawn in pieces and nobody reads: words, fold brackets, marks."""
    if not inside.unread:
        return []
    text = (
        f"not read: {len(inside.unread)} word(s), line(s) or mark(s) drawn in the pieces (--picture"
        " shows them): name, how many, fold and marks of a scan have to be said in the job"
    )
    return [note("unread", text)]


def _longest(item: Item) -> float:
    x0, y0, x1, y1 = bounds(item.path) if item.path else (0.0, 0.0, 0.0, 0.0)
    return max(x1 - x0, y1 - y0)


def _told(flat: Flat, found: Found, items: Sequence[Item], pen: Pen | None) -> list[Finding]:
    told = []
    drawn = any(thing.ink for thing in found.things)
    if drawn:
        wide = max(thing.ink for thing in found.things) * flat.mm_per_pixel
        told.append(
            note(
                "pen",
                f"the {pen or Pen.MIDDLE} of lines {wide:.1f} mm wide is taken as the outline;"
                f" --line {'middle' if pen is Pen.OUTSIDE else 'outside'} takes the other",
            )
        )
    filled = len(found.things) - sum(thing.ink > 0.0 for thing in found.things)
    if drawn and filled:
        text = f"beside what is drawn {filled} thing(s) are filled: all are taken; with --line only"
        told.append(note("filled", text + " those that are drawn"))
    for count, what in (
        (found.cut_off, "run off the picture and are left out: show ground all round them"),
        (found.on_reference, "touch the sheet that gives the scale and are left out"),
        (
            found.unclear,
            "have the colour of their shadow at their edge, or are out of focus, and are left out: "
            + _LIGHT,
        ),
        (found.divided, "are divided by lines that reach their outline: the outer one is taken"),
    ):
        if count:
            kind = "divided" if what.startswith("are div") else "left out"
            severity = Severity.NOTE if kind == "divided" else Severity.FAULT
            told.append(note(kind, f"{count} thing(s) {what}", severity=severity))
    worst = max(item.off or 0.0 for item in items)
    if worst > max(_DOUBTFUL, _SHARE * max(map(_longest, items))):
        text = (
            f"a piece may be off by {worst:.1f} mm: lay a sheet on both sides of the pieces, and"
            " photograph from straight above"
        )
        told.append(note("uncertain", text, severity=Severity.FAULT))
    return told
