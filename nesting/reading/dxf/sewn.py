"""Sewn-product DXF: a block for a piece, layers that are numbers (`pattern.sewn_layers`).

It follows the layer plan of the withdrawn ASTM D6673-10 and of ANSI/AAMA-292, and what
files are seen to do instead: text in modelspace, lines for notches, blocks inserted with
scale, pieces that are no blocks.
"""

from __future__ import annotations

import math
import re
from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import replace
from functools import lru_cache

from nesting.errors import Finding
from nesting.pattern import sewn_layers as plan
from nesting.pattern.path import Affine, Path, Point
from nesting.pattern.piece import NotchStyle
from nesting.reading.dxf.tags import Block, Document
from nesting.reading.dxf.text_fields import (
    PIECE_KEYS,
    STYLE_KEYS,
    field_of,
    grade_rule,
    key_of,
    value_of,
)
from nesting.reading.dxf.units import dxf_claims
from nesting.reading.dxf.walk import (
    Drawn,
    Insertion,
    Walk,
    layers,
    own_blocks,
    text_anchor,
    text_height,
)
from nesting.reading.items import MOST_LOOSE, Group, Item, Role, role_of, too_many_loose
from nesting.reading.pieces.adopt import adopted
from nesting.reading.raw_pattern import Draft, RawPattern, note
from nesting.reading.roles import roles_there
from nesting.reading.unit.check_square import check_squares, stated
from nesting.reading.unit.scale import Claim

__all__ = ["ROLES", "is_sewn", "read_sewn"]

ROLES: dict[int, Role] = {
    plan.BOUNDARY: Role.CUT,
    plan.TURN_POINTS: Role.TURN,
    plan.CURVE_POINTS: Role.CURVE,
    plan.GRADE_REFERENCE: Role.IGNORE,
    plan.MIRROR: Role.FOLD,
    plan.GRAIN: Role.GRAIN,
    plan.INTERNAL: Role.LINE,
    plan.STRIPE: Role.STRIPE,
    plan.PLAID: Role.PLAID,
    plan.CUT_OUT: Role.HOLE,
    plan.DRILL: Role.DRILL,
    plan.SEW: Role.SEW,
    plan.ANNOTATION: Role.TEXT,
    plan.CHECK_CURVES[0]: Role.CHECK,
    **dict.fromkeys(plan.CHECK_CURVES[1:], Role.IGNORE),
    **dict.fromkeys(plan.NOTCHES, Role.NOTCH),
}

_POINTS = (Role.TURN, Role.CURVE, Role.NOTCH, Role.DRILL)


def is_sewn(document: Document) -> bool:
    """Tell whether a document has outlines on layer 1 and more of the layer plan."""
    layers: set[int] = set()
    for entities in (document.entities, *(b.entities for b in own_blocks(document))):
        layers |= {n for entity in entities if (n := _number(entity.layer)) is not None}
    if plan.BOUNDARY not in layers:
        return False
    blocks = own_blocks(document)
    in_blocks = any(_number(e.layer) == plan.BOUNDARY for b in blocks for e in b.entities)
    return in_blocks or len(layers & ROLES.keys()) > 1


def read_sewn(document: Document, *, roles: Mapping[str, Role] | None = None) -> RawPattern:
    """Read the pieces of a document that follows the layer plan, in the file's own unit.

    `roles` says of layers what they are for, whatever the plan says.
    """
    return _Reader(document, roles or {}).read()


@lru_cache(maxsize=1024)
def _number(layer: str) -> int | None:
    """Return the number that a layer's name is, or ends in: "1", "01", "Layer 14"."""
    match = re.fullmatch(r"(?:layer[ _-]*)?0*(\d{1,3})", layer.strip(), re.IGNORECASE)
    return int(match[1]) if match else None


class _Reader:
    def __init__(self, document: Document, roles: Mapping[str, Role]) -> None:
        self._document = document
        self._said = roles_there(roles, layers(document), what="layer")
        self._walk = Walk(document)
        self._findings: list[Finding] = []
        self._odd_layers: dict[str, int] = defaultdict(int)
        self._rules = 0

    def read(self) -> RawPattern:
        places = self._places()
        drafts = [self._draft(block, places.get(block.name)) for block in self._blocks()]
        loose, style = self._loose()
        check_squares(draft.group for draft in [*drafts, loose])
        kept = [draft for draft in drafts if _has_outline(draft)]
        stray = [i for d in drafts if d not in kept for i in d.group.items]
        self._texts_outside(loose, kept)
        loose.group.items = adopted(loose, kept, contours=False)
        if not _has_outline(loose):
            stray += loose.group.items
        else:
            loose.fields = [f for f in loose.fields if key_of(f[0]) not in PIECE_KEYS]
            kept.append(loose)
        for draft in kept:
            draft.name = value_of(draft.fields, "piecename") or draft.name
            draft.group.name = draft.name
        fields = style or [f for d in kept for f in d.fields if key_of(f[0]) in STYLE_KEYS]
        self._tell_of_the_rest()
        return RawPattern(
            kind="sewn-product DXF",
            drafts=kept,
            claims=[*_text_claims(fields), *dxf_claims(self._document)],
            fields=fields,
            findings=self._findings,
            stray=[item for item in stray if item.path is not None],
        )

    def _blocks(self) -> list[Block]:
        """Return the blocks that are pieces: not those that only stand inside other blocks."""
        blocks = own_blocks(self._document)
        inner = {
            e.text(2).strip().upper() for b in blocks for e in b.entities if e.kind == "INSERT"
        }
        outer = [block for block in blocks if block.name.upper() not in inner]
        return outer or blocks

    def _places(self) -> dict[str, list[Insertion]]:
        places: dict[str, list[Insertion]] = defaultdict(list)
        for insertion in self._walk.insertions():
            places[insertion.block.name].append(insertion)
        return places

    def _draft(self, block: Block, places: Sequence[Insertion] | None) -> Draft:
        by = self._placed(block, places or ())
        fields = [f for place in places or () for f in self._walk.attributes(place.entity)]
        draft = Draft(group=Group(name=block.name), fields=fields, name=block.name, line=block.line)
        self._collect(self._walk.block(block, by), draft)
        if places and len(places) > 1:
            draft.left = sum(place.by.mirrors for place in places)
            draft.right = len(places) - draft.left
            text = f"inserted {len(places)} times, {draft.left} of them mirrored"
            said = value_of(draft.fields, "quantity")
            text += f"; its text says {said}, which is taken" if said else "; taken as its quantity"
            self._findings.append(note("inserted", text, name=block.name))
        return draft

    def _placed(self, block: Block, places: Sequence[Insertion]) -> Affine:
        """Return how a block is inserted; tell if it is scaled, or unlike in several places."""
        if not places:
            return Affine()
        by = places[0].by
        scales = {round(math.sqrt(abs(p.by.a * p.by.d - p.by.b * p.by.c)), 6) for p in places}
        if abs(math.hypot(by.a, by.c) - math.hypot(by.b, by.d)) > 1e-6 * math.hypot(by.a, by.c):
            text = "the block is inserted with different scales along and across; taken so"
            self._findings.append(note("scale", text, name=block.name))
        elif scales != {1.0}:
            told = ", ".join(f"{scale:g}" for scale in sorted(scales))
            first = f"; {math.hypot(by.a, by.c):g} is taken" if len(scales) > 1 else ""
            text = f"the block is inserted with scale {told}{first}"
            self._findings.append(note("scale", text, name=block.name))
        if by.mirrors:
            text = "the block is inserted mirrored; the piece is taken as it is drawn in the block"
            self._findings.append(note("mirrored", text, name=block.name))
            by = by.after(Affine.mirror())
        return by

    def _loose(self) -> tuple[Draft, list[tuple[str, str]]]:
        """Return what lies in modelspace outside blocks, and the fields of the style."""
        draft = Draft(group=Group(name="", loose=True))
        self._collect(self._walk.loose(), draft)
        style = [field for field in draft.fields if key_of(field[0]) in STYLE_KEYS]
        return draft, style

    def _collect(self, drawn: Iterable[Drawn], draft: Draft) -> None:
        """Turn what is drawn into items and fields."""
        once, loose = False, 0
        drill_texts: dict[tuple[float, float], str] = {}
        for thing in drawn:
            number = _number(thing.layer)
            role = self._said.get(thing.layer.casefold())
            if role is None:
                role = ROLES.get(number) if number is not None else role_of(thing.layer)
            if thing.texts:
                once = self._text(thing, role, draft, drill_texts)
                continue
            if thing.filled and role is not Role.GRAIN:
                self._walk.unread["SOLID"] = self._walk.unread.get("SOLID", 0) + 1
            elif role is None:
                self._odd_layers[thing.layer] += 1
            elif role is not Role.IGNORE:
                loose += role is Role.CUT and thing.path is not None and not thing.path.closed
                if loose > MOST_LOOSE:
                    raise too_many_loose()
                item = _item(thing, role, number or 0, once=once)
                draft.group.items += [item] if item else []
            once = False
        if drill_texts:
            draft.group.items = [_named_drill(i, drill_texts) for i in draft.group.items]

    def _text(
        self,
        thing: Drawn,
        role: Role | None,
        draft: Draft,
        drills: dict[tuple[float, float], str],
    ) -> bool:
        """Take a text for what it is; return whether it says that the next thing is single."""
        at = thing.at or (0.0, 0.0)
        for text in thing.texts:
            field = field_of(text)
            if text.strip().upper() == "NM":
                return True
            if grade_rule(text):
                self._rules += 1
            elif field and key_of(field[0]) in PIECE_KEYS | STYLE_KEYS:
                draft.fields.append(field)
                if draft.group.loose:
                    draft.group.items.append(
                        Item(role=Role.IGNORE, at=at, text=text, line=thing.entity.line)
                    )
            elif role is Role.DRILL:
                drills[_cell(at)] = text
            elif role in (Role.TEXT, Role.LINE) or draft.group.loose or stated(text):
                draft.group.items.append(_text_item(thing, text))
            else:
                draft.fields.append(field or ("", text))
        return False

    def _texts_outside(self, loose: Draft, drafts: Sequence[Draft]) -> None:
        """Give piece texts that lie in modelspace to the piece under them, or so named."""
        records: list[list[tuple[tuple[str, str], Point]]] = []
        kept: list[Item] = []
        for item in loose.group.items:
            field = field_of(item.text) if item.role is Role.IGNORE else None
            if not field or key_of(field[0]) not in PIECE_KEYS or item.at is None:
                continue
            key = key_of(field[0])
            if not records or key == "piecename" or key in {key_of(f[0]) for f, _ in records[-1]}:
                records.append([])
            records[-1].append((field, item.at))
            # A record is one thing: it goes where its first line stands.
            kept.append(replace(item, at=records[-1][0][1]))
        loose.group.items = [i for i in loose.group.items if i.role is not Role.IGNORE]
        if not drafts:
            loose.group.items += kept
        waiting = [d for d in drafts if not value_of(d.fields, "piecename")]
        boxes = {id(draft): _box(draft.group.items) for draft in waiting}
        for record in records:
            name = value_of([field for field, _ in record], "piecename")
            draft = next((d for d in waiting if d.name.casefold() == name.casefold()), None)
            if draft is None and waiting:
                draft = min(waiting, key=lambda d: _off(boxes[id(d)], record[0][1]))
            if draft is None:
                continue
            draft.fields += [field for field, _ in record]
            waiting.remove(draft)
            text = "its text stands outside its block; the nearest is taken"
            self._findings.append(note("text", text, name=name or draft.name))

    def _tell_of_the_rest(self) -> None:
        if self._rules:
            text = f"{self._rules} grade rule number(s): the pieces are taken as drawn, not graded"
            self._findings.append(note("grading", text))
        if self._odd_layers:
            told = ", ".join(f"{name or '(none)'} ({n})" for name, n in self._odd_layers.items())
            self._findings.append(note("layer", f"not in the layer plan, not read: layer {told}"))
        for what, count in self._walk.unread.items():
            self._findings.append(note("unread", f"not read: {count} {what}"))
        if self._document.guessed_text:
            text = "the file does not say how its text is coded; Western European is taken"
            self._findings.append(note("text", text))


def _has_outline(draft: Draft) -> bool:
    return any(item.role is Role.CUT for item in draft.group.items)


def _text_claims(fields: Sequence[tuple[str, str]]) -> list[Claim]:
    """Return what the style text says: METRIC is normally mm, ENGLISH inches.

    The normal meaning is from memory; some writers mean cm, so the size is looked at.
    """
    said = value_of(fields, "units")
    word = said.strip().upper()
    why = f"the style text says Units: {said}"
    if word.startswith("METRIC"):
        return [Claim(factor=1.0, unit="mm", why=why, also=("cm",))]
    if word.startswith(("MM", "MILLI")):
        return [Claim(factor=1.0, unit="mm", why=why)]
    if word.startswith(("ENGLISH", "IMPERIAL", "IN")):
        return [Claim(factor=25.4, unit="in", why=why)]
    if word.startswith(("CM", "CENTI")):
        return [Claim(factor=10.0, unit="cm", why=why)]
    return []


def _item(thing: Drawn, role: Role, number: int, *, once: bool) -> Item | None:
    if role in _POINTS:
        return _mark_item(thing, role, number, once=once)
    if thing.path is None:
        return None
    path = thing.path
    layer = "" if role is Role.CUT else thing.layer  # a number of the plan names no piece
    if role in (Role.FOLD, Role.STRIPE, Role.PLAID):
        path = _straight(path)
    return Item(role=role, path=path, layer=layer, once=once, line=thing.entity.line)


def _straight(path: Path) -> Path:
    """Return a reference line as one segment; files draw it as polylines, too."""
    return path if path.closed else Path.polyline([path.start, path.end], closed=False)


def _mark_item(thing: Drawn, role: Role, number: int, *, once: bool) -> Item | None:
    """Read a POINT with its numbers: Z depth or diameter, thickness width, 50 direction."""
    entity, by = thing.entity, thing.by
    style = plan.NOTCHES.get(number, NotchStyle.SLIT)
    if thing.at is None:
        if thing.path is None or role not in (Role.NOTCH, Role.DRILL):
            return None
        return Item(role=role, path=thing.path, style=style, once=once, line=entity.line)
    factor = math.sqrt(abs(by.a * by.d - by.b * by.c))
    angle = entity.optional(50)
    if angle is not None and by != Affine():
        x, y = by.vector((math.cos(math.radians(angle)), math.sin(math.radians(angle))))
        angle = math.degrees(math.atan2(y, x)) % 360.0
    return Item(
        role=role,
        at=thing.at,
        size=abs(entity.number(30)) * factor,
        width=abs(entity.number(39)) * factor if role is Role.NOTCH else 0.0,
        angle=angle if role is Role.NOTCH else None,
        style=style,
        once=once,
        line=entity.line,
    )


def _text_item(thing: Drawn, text: str) -> Item:
    turn = math.degrees(math.atan2(thing.by.c, thing.by.a))
    return Item(
        role=Role.TEXT,
        at=thing.at,
        text=text,
        size=text_height(thing),
        along=text_anchor(thing.entity)[0],
        up=text_anchor(thing.entity)[1],
        angle=thing.entity.number(50) + turn,
        line=thing.entity.line,
    )


def _named_drill(item: Item, texts: dict[tuple[float, float], str]) -> Item:
    if item.role is not Role.DRILL or item.at is None or _cell(item.at) not in texts:
        return item
    return Item(
        role=item.role,
        at=item.at,
        size=item.size,
        text=texts[_cell(item.at)],
        once=item.once,
        line=item.line,
    )


def _cell(at: Point) -> tuple[float, float]:
    return (round(at[0], 3), round(at[1], 3))


def _box(items: Sequence[Item]) -> tuple[float, float, float, float]:
    points = [p for i in items if i.path for p in (s.start for s in i.path.segments)]
    xs, ys = [p[0] for p in points], [p[1] for p in points]
    return min(xs), min(ys), max(xs), max(ys)


def _off(box: tuple[float, float, float, float], at: Point) -> float:
    dx = max(box[0] - at[0], 0.0, at[0] - box[2])
    dy = max(box[1] - at[1], 0.0, at[1] - box[3])
    return math.hypot(dx, dy)
