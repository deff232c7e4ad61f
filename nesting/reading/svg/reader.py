"""SVG: groups with a name are pieces, and so are loose outlines."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from xml.etree.ElementTree import Element

from nesting.errors import Finding, PatternError
from nesting.pattern.marks.capitals import CAPITALS
from nesting.pattern.path import Affine, Path
from nesting.pattern.piece import NotchStyle
from nesting.reading.dxf.text_fields import PIECE_KEYS, field_of, key_of
from nesting.reading.items import CLOSE, Group, Item, Role, clean, role_of
from nesting.reading.pieces.adopt import adopted, rings
from nesting.reading.raw_pattern import Draft, RawPattern, note, printable
from nesting.reading.roles import roles_there
from nesting.reading.svg.file import (
    local,
    meant_for_us,
    names,
    parse_svg,
    reference,
    shown_in_switch,
    weighed,
)
from nesting.reading.svg.lettering import ANCHORS, first_length, font_size
from nesting.reading.svg.markers import Markers, arrowheads, markers_of
from nesting.reading.svg.shapes import SHAPES, number, shape_paths
from nesting.reading.svg.style import Styles, colour, dashes, geometry_set, opacity, unpainted
from nesting.reading.svg.units import (
    parse_length,
    parse_transform,
    parse_view_box,
    transform_of,
    view_map,
)
from nesting.reading.svg.viewport import doubtful_px, viewport
from nesting.reading.svg.window import Window, clip_window, refuse_masks, view_window
from nesting.reading.unit.check_square import check_squares

__all__ = ["read_svg"]

_GROUPS = frozenset(("g", "a", "switch", "svg"))
_NOT_DRAWN = frozenset(
    {
        "",
        "defs",
        "symbol",
        "clipPath",
        "mask",
        "marker",
        "pattern",
        "title",
        "desc",
        "metadata",
        "style",
        "script",
        "linearGradient",
        "radialGradient",
        "filter",
        "view",
    }
)


def read_svg(
    data: bytes, *, roles: Mapping[str, Role] | None = None, close: float = CLOSE
) -> RawPattern:
    """Read an SVG file, in the user units of its outermost viewBox, y upwards.

    What a thing is for is said by its class, label, title or id, or by those of a group
    around it ("cut", "sew", "grain", "notch"…), or by `roles`, which may also name a
    stroke colour. What is not said is an outline, a cut-out if it lies in one, or a
    line to draw if it is open. Every group with a name and an outline in it is a piece.
    """
    return _Reader(parse_svg(data), roles or {}, close).read()


@dataclass(frozen=True, slots=True, kw_only=True)
class _Scope:
    """Where we are: the map to the root, the piece, what is said around, the viewport."""

    by: Affine
    draft: Draft
    role: Role | None
    view: tuple[float, float]
    font: float = 16.0
    anchor: str = "start"
    hidden: bool = False
    windows: tuple[Window, ...] = ()
    markers: Markers = ("", "")
    unpainted: tuple[bool, bool] = (False, False)
    """Whether fill and stroke are said to be none."""
    dash: str = ""
    """What lines are called by their dashes."""
    named: bool = False
    """Whether a `use` has given the next thing its name."""


class _Reader:
    def __init__(self, root: Element, roles: Mapping[str, Role], close: float) -> None:
        self._root = root
        self._close = close
        self._by_id = weighed(root)
        self._styles = Styles(root)
        self._roles = roles_there(
            roles, self._names(), what="layer, class, label, stroke colour or dash", fold=colour
        )
        self._drafts: list[tuple[Draft, Draft | None]] = []
        self._findings: list[Finding] = []
        self._unread: dict[str, int] = {}

    def read(self) -> RawPattern:
        root = viewport(self._root)
        self._findings += root.findings
        loose = self._open_draft("", None)
        up = Affine(d=-1.0)
        scope = _Scope(by=up.after(root.squeeze), draft=loose, role=None, view=root.size)
        self._top(scope)
        for what, count in self._unread.items():
            self._findings.append(note("unread", f"not read: {count} {what}"))
        groups = [draft.group for draft, _ in self._drafts]
        claims = root.claims
        if not check_squares(groups) and doubtful_px(claims, groups, self._findings):
            claims = []
        drafts, stray = self._merged()
        return RawPattern(
            kind="SVG",
            drafts=drafts,
            stray=stray,
            claims=claims,
            readings=("mm", "px", "pt", "1/90 in", "in"),
            down=True,
            findings=self._findings,
        )

    def _names(self) -> Iterator[str]:
        """Give everything by which the user may say what a thing is for."""
        for element in self._root.iter():
            if local(element):
                stroke = self._styles.of(element).get("stroke", "")
                dash = dashes(self._styles.of(element), "")
                for name in (*element.get("class", "").split(), *names(element), stroke, dash):
                    if name and name.casefold() != "none":
                        yield name

    def _top(self, scope: _Scope) -> None:
        """Read what the root holds: it may be hidden or clipped, but not moved."""
        style = self._styles.of(self._root)
        if parse_transform(style.get("transform", "")) != Affine():
            raise PatternError(
                "the outermost svg has a transform, which is not read",
                hint="put what is drawn into a group with that transform",
            )
        inside = self._sight(self._root, style, scope)
        if inside is not None:
            self._children(self._root, inside)

    def _open_draft(self, name: str, parent: Draft | None) -> Draft:
        draft = Draft(group=Group(name=name, loose=True), name=name)
        self._drafts.append((draft, parent))
        return draft

    def _merged(self) -> tuple[list[Draft], list[Item]]:
        """Give what groups without an outline hold to the group around them.

        What even the outermost can't take goes to the piece it lies in; the rest is stray.
        """
        for draft, parent in reversed(self._drafts):
            if parent is not None and not _has_outline(draft, self._close):
                parent.group.items += draft.group.items
                parent.fields += draft.fields
                draft.group.items = []
        drafts = [draft for draft, _ in self._drafts if _has_outline(draft, self._close)]
        loose = self._drafts[0][0]
        loose.group.items = adopted(loose, drafts, close=self._close)
        if _has_outline(loose, self._close):
            return drafts, []
        if not drafts and any(_may_be_cut(item) for item in loose.group.items):
            return [loose], []
        return [draft for draft in drafts if draft is not loose], loose.group.items

    def _children(self, element: Element, scope: _Scope) -> None:
        for child in element:
            self._element(child, scope)

    def _element(self, element: Element, scope: _Scope) -> None:
        kind = local(element)
        if kind in _NOT_DRAWN:
            return
        style = self._styles.of(element)
        try:
            inside = self._sight(element, style, scope)
            if inside is not None:
                self._visible(geometry_set(element, style), kind, style, inside)
        except PatternError as trouble:
            where = printable(element.get("id") or kind)[:60]
            raise trouble.located(field=where) from None

    def _sight(self, element: Element, style: Mapping[str, str], scope: _Scope) -> _Scope | None:
        """Return the scope with the element's own map and window; None if nothing is seen."""
        if style.get("display") == "none" or opacity(style) <= 0.0:
            self._pass_over("hidden element(s)")
            return None
        if not meant_for_us(element):
            self._pass_over("element(s) for other programs or languages")
            return None
        visibility = style.get("visibility", "inherit")
        hidden = scope.hidden
        if visibility in ("visible", "hidden", "collapse", "initial"):
            hidden = visibility in ("hidden", "collapse")
        refuse_masks(style)
        by = scope.by.after(transform_of(style, scope.view))
        window = clip_window(
            style.get("clip-path", ""),
            by=by,
            by_id=self._by_id,
            styles=self._styles,
            view=scope.view,
        )
        windows = scope.windows if window is None else (*scope.windows, window)
        font = font_size(style, scope.font)
        markers = markers_of(style, scope.markers)
        return replace(
            scope,
            by=by,
            font=font,
            anchor=style.get("text-anchor", scope.anchor),
            hidden=hidden,
            windows=windows,
            markers=markers,
            unpainted=unpainted(style, scope.unpainted),
            dash=dashes(style, scope.dash),
        )

    def _visible(
        self, element: Element, kind: str, style: Mapping[str, str], scope: _Scope
    ) -> None:
        if kind in _GROUPS:
            scope = self._named(element, style, scope)
            if kind == "svg":
                scope = _inner_view(element, element, scope, style)
            if kind == "switch":
                chosen = shown_in_switch(element)
                if chosen is not None:
                    self._element(chosen, scope)
            else:
                self._children(element, scope)
        elif kind == "use":
            self._use(element, style, scope)
        elif kind in SHAPES or kind == "text":
            if scope.hidden or (kind != "text" and all(scope.unpainted)):
                self._pass_over("hidden element(s)")
            elif kind == "text":
                self._text(element, scope)
            else:
                self._shape(element, kind, style, scope)
        else:
            self._pass_over(kind)

    def _keep(self, item: Item, scope: _Scope) -> None:
        """Keep what is seen through every window around it."""
        if all(window.shows(item) for window in scope.windows):
            scope.draft.group.items.append(item)
        else:
            self._pass_over("element(s) outside of a clip-path or of a drawing within it")

    def _role(self, element: Element, style: Mapping[str, str], scope: _Scope) -> Role | None:
        """Return what an element is for, if it or the user says so."""
        said = [*element.get("class", "").split(), *names(element)]
        looks = (style.get("stroke", ""), dashes(style, ""))
        for name in (*said, *looks) if self._roles else ():
            if name and colour(name) in self._roles:
                return self._roles[colour(name)]
        owner = scope.draft.name
        found = (role_of(name, owner=owner) for name in said)
        return next((role for role in found if role is not None), None)

    def _named(self, element: Element, style: Mapping[str, str], scope: _Scope) -> _Scope:
        """Return the scope inside a group: its role, or the piece that its name begins."""
        role = self._role(element, style, scope)
        named, scope = scope.named, replace(scope, named=False)
        if role is not None:
            return replace(scope, role=role)
        said = names(element)
        if not said or named:
            return scope
        return replace(scope, draft=self._open_draft(said[0], scope.draft))

    def _use(self, element: Element, style: Mapping[str, str], scope: _Scope) -> None:
        href = reference(element)
        if not href.startswith("#"):
            raise PatternError(
                "it refers to another file, which is not read", hint="put everything into one file"
            )
        name = href[1:]
        target = self._by_id.get(name)
        if target is None:
            self._pass_over("use of something that is not there")
            return
        at = Affine.move(number(element, "x", scope.view[0]), number(element, "y", scope.view[1]))
        inside = self._named(element, style, scope)
        named = inside.draft is not scope.draft
        scope = replace(inside, by=inside.by.after(at), named=named)
        if local(target) != "symbol":
            self._element(target, scope)
            return
        own = self._styles.of(target)
        seen = self._sight(target, own, scope)
        if seen is not None:
            seen = self._named(target, own, seen)
            self._children(target, _inner_view(target, element, seen, own))

    def _shape(self, element: Element, kind: str, style: Mapping[str, str], scope: _Scope) -> None:
        role = self._role(element, style, scope) or scope.role or Role.ANY
        if role is Role.IGNORE:
            self._pass_over("element(s) that are said to be ignored")
            return
        said = [name for name in names(element) if role_of(name, owner=scope.draft.name) is None]
        label = said[0] if said else ""
        if role is Role.REFERENCE:
            label = next(iter(names(element)), "")
        if role is Role.DRILL and kind == "circle":
            self._drill(element, label, scope)
            return
        paths = shape_paths(element, view=scope.view)
        if role is Role.GRAIN:
            by_id, styles = self._by_id, self._styles
            paths += [
                head
                for path in paths
                for head in arrowheads(path, scope.markers, by_id=by_id, styles=styles)
            ]
        for path in paths:
            tidy = clean(list(path.segments))
            if tidy is not None:
                drawn = tidy.transformed(scope.by)
                item = _item(element, role, drawn, label=label, grown=_grown(scope.by))
                item = replace(item, dash=scope.dash)
                self._keep(item, scope)

    def _drill(self, element: Element, label: str, scope: _Scope) -> None:
        centre = (number(element, "cx", scope.view[0]), number(element, "cy", scope.view[1]))
        radius = number(element, "r", math.hypot(*scope.view) / math.sqrt(2.0))
        item = Item(
            role=Role.DRILL, at=scope.by(centre), size=2 * radius * _grown(scope.by), text=label
        )
        self._keep(item, scope)

    def _text(self, element: Element, scope: _Scope) -> None:
        spans = [element, *(e for e in element.iter() if local(e) == "tspan")]
        first = next((e for e in spans if e.get("x") or e.get("y")), element)
        at = tuple(first_length(first.get(axis, "0")) for axis in ("x", "y"))
        text = " ".join("".join(element.itertext()).split())
        if not text:
            return
        field = field_of(text)
        if field and key_of(field[0]) in PIECE_KEYS:
            scope.draft.fields.append(field)
            if key_of(field[0]) == "piecename":
                scope.draft.name = scope.draft.name or field[1]
            return
        turn = scope.by.vector((1.0, 0.0))
        styles = [self._styles.of(e) for e in spans]
        font = next((size for style in styles if (size := font_size(style, 0.0))), 0.0)
        anchor = next((s["text-anchor"] for s in styles if "text-anchor" in s), scope.anchor)
        item = Item(
            role=Role.TEXT,
            at=scope.by((at[0], at[1])),
            text=text,
            size=CAPITALS * (font or scope.font) * _grown(scope.by),
            along=ANCHORS.get(anchor, 0.0),
            angle=math.degrees(math.atan2(turn[1], turn[0])) + 0.0,
        )
        self._keep(item, scope)

    def _pass_over(self, what: str) -> None:
        self._unread[what] = self._unread.get(what, 0) + 1


def _may_be_cut(item: Item) -> bool:
    return item.path is not None and item.role in (Role.CUT, Role.ANY)


def _has_outline(draft: Draft, close: float) -> bool:
    """Tell whether a group holds a contour that is to be cut, be it of loose lines."""
    items = draft.group.items
    return any(item.role is Role.CUT for item in items) or bool(rings(items, close=close))


def _inner_view(
    element: Element, placed: Element, scope: _Scope, style: Mapping[str, str]
) -> _Scope:
    """Return the scope inside a nested svg or a used symbol (SVG 2, 5.6 and 8.2)."""
    view = scope.view
    own = [
        number(element, side, whole, default=whole)
        for side, whole in zip(("width", "height"), view, strict=True)
    ]
    width = number(placed, "width", view[0], default=own[0])
    height = number(placed, "height", view[1], default=own[1])
    by = scope.by
    if placed is element:
        by = by.after(Affine.move(number(element, "x", view[0]), number(element, "y", view[1])))
    if style.get("overflow", "hidden") not in ("visible", "auto"):
        scope = replace(scope, windows=(*scope.windows, view_window(width, height, by)))
    box = parse_view_box(element.get("viewBox"))
    if box is None:
        return replace(scope, by=by, view=(width, height))
    inner = view_map(box, width, height, aspect=element.get("preserveAspectRatio", ""))
    return replace(scope, by=by.after(inner), view=(box[2], box[3]))


def _grown(by: Affine) -> float:
    return math.sqrt(abs(by.a * by.d - by.b * by.c))


def _item(element: Element, role: Role, path: Path, *, label: str, grown: float) -> Item:
    """Return a drawn path as an item; a notch with what its class and data say."""
    if role is not Role.NOTCH:
        return Item(role=role, path=path, label=label)
    styles = [s for s in NotchStyle if s.value in element.get("class", "").lower().split()]
    return Item(
        role=role,
        path=path,
        text=label,
        size=_data(element, "data-depth") * grown,
        width=_data(element, "data-width") * grown,
        told=element.get("data-depth") is not None,
        square=element.get("data-angle") == "square",
        style=styles[0] if styles else NotchStyle.SLIT,
    )


def _data(element: Element, name: str) -> float:
    text = element.get(name)
    return abs(parse_length(text).value) if text else 0.0
