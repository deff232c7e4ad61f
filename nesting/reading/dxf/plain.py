"""Plain DXF: closed contours by block or layer, cut-outs inside outlines."""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Iterable, Mapping

from nesting.errors import Finding
from nesting.pattern.path import Affine
from nesting.reading.dxf.linetypes import dash_of, dash_words
from nesting.reading.dxf.marker import marker_roles
from nesting.reading.dxf.tags import Block, Document
from nesting.reading.dxf.text_fields import PIECE_KEYS, field_of, key_of
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
from nesting.reading.unit.check_square import check_squares

__all__ = ["read_plain"]


def read_plain(document: Document, *, roles: Mapping[str, Role] | None = None) -> RawPattern:
    """Read a plain DXF file: every inserted block is a piece, and so is every loose outline.

    Layers named for what is done ("cut", "sew", "grain", "notch", "drill", "mark"…) are
    taken at their word, and `roles` says it for others; contours on any other layer are
    outlines, and cut-outs where they lie inside one. Of a marker of this program what the parts
    are laid on is left out.
    """
    walk = Walk(document)
    findings: list[Finding] = []
    own = marker_roles(layers(document))
    if own:
        text = "a marker: read are the parts on it, not what they are laid on"
        findings.append(note("marker", text))
    known = [*layers(document), *dash_words(document)]
    said = own | roles_there(roles or {}, known, what="layer or dash")
    by_block: dict[str, list[Insertion]] = {}
    for insertion in walk.insertions():
        by_block.setdefault(insertion.block.name, []).append(insertion)
    loose = Draft(group=Group(name="", loose=True))
    _collect(walk.loose(), loose, said, walk.unread)
    drafts = [_draft(walk, places, said, findings) for places in by_block.values()]
    if not by_block and not _has_outline(loose):
        drafts = [_block_draft(walk, block, Affine(), said) for block in own_blocks(document)]
    every = [*drafts, loose]
    check_squares(draft.group for draft in every)
    blocks = [draft for draft in drafts if _has_outline(draft)]
    loose.group.items = adopted(loose, blocks, contours=False)
    drafts = [draft for draft in every if _has_outline(draft)]
    rest = [draft for draft in every if not _has_outline(draft)]
    stray = [i for d in rest for i in d.group.items if d is loose or i.role is Role.REFERENCE]
    for what, count in walk.unread.items():
        findings.append(note("unread", f"not read: {count} {what}"))
    return RawPattern(
        kind="plain DXF",
        drafts=drafts,
        claims=dxf_claims(document),
        findings=findings,
        stray=stray,
    )


def _has_outline(draft: Draft) -> bool:
    return any(item.role in (Role.CUT, Role.ANY) and item.path for item in draft.group.items)


def _draft(
    walk: Walk, places: list[Insertion], said: Mapping[str, Role], findings: list[Finding]
) -> Draft:
    """Read a block once, however often it is inserted: so many are cut."""
    first = next((p for p in places if not p.by.mirrors), places[0])
    draft = _block_draft(walk, first.block, first.by, said)
    draft.fields += walk.attributes(first.entity)
    if len(places) > 1:
        draft.left = sum(place.by.mirrors for place in places)
        draft.right = len(places) - draft.left
        scales = {round(abs(p.by.a * p.by.d - p.by.b * p.by.c), 6) for p in places}
        text = f"inserted {len(places)} times, {draft.left} of them mirrored; taken as its quantity"
        if len(scales) > 1:
            text += "; the scales differ, the first is taken"
        findings.append(note("inserted", text, name=draft.name))
    return draft


def _block_draft(walk: Walk, block: Block, by: Affine, said: Mapping[str, Role]) -> Draft:
    draft = Draft(group=Group(name=block.name), name=block.name, line=block.line)
    _collect(walk.block(block, by), draft, said, walk.unread)
    return draft


def _collect(
    drawn: Iterable[Drawn], draft: Draft, said: Mapping[str, Role], ignored: dict[str, int]
) -> None:
    loose: Counter[str] = Counter()
    for thing in drawn:
        layer = thing.layer
        dash = dash_of(thing.entity.document, thing.entity, layer) if thing.path else ""
        role = said.get(layer.casefold()) or said.get(dash) or role_of(layer) or Role.ANY
        if role is Role.IGNORE:
            what = f"on layer {layer}, which is said to be ignored"
            ignored[what] = ignored.get(what, 0) + 1
            continue
        if thing.filled and role is not Role.GRAIN:
            ignored["SOLID"] = ignored.get("SOLID", 0) + 1
        elif thing.texts:
            _texts(thing, draft)
        elif thing.path is not None:
            loose[layer] += not thing.path.closed
            if loose[layer] > MOST_LOOSE:
                raise too_many_loose()
            line = thing.entity.line
            item = Item(role=role, path=thing.path, layer=layer, dash=dash, line=line)
            draft.group.items.append(item)
        elif thing.at is not None and role in (Role.NOTCH, Role.DRILL):
            size = abs(thing.entity.number(30))
            draft.group.items.append(
                Item(role=role, at=thing.at, size=size, layer=layer, line=thing.entity.line)
            )


def _texts(thing: Drawn, draft: Draft) -> None:
    turn = math.degrees(math.atan2(thing.by.c, thing.by.a))
    for i, text in enumerate(thing.texts):
        along, up = text_anchor(thing.entity, i, len(thing.texts))
        field = field_of(text)
        if field and key_of(field[0]) in PIECE_KEYS and not draft.group.loose:
            draft.fields.append(field)
            if key_of(field[0]) == "piecename":
                draft.name = field[1]
            continue
        draft.group.items.append(
            Item(
                role=Role.TEXT,
                at=thing.at,
                text=field[1] if field and key_of(field[0]) == "piecename" else text,
                size=text_height(thing),
                along=along,
                up=up,
                angle=thing.entity.number(50) + turn,
                line=thing.entity.line,
            )
        )
