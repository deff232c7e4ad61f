"""What CSS says of an element: attributes, style sheets and the style attribute, in their order."""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping
from contextlib import suppress
from itertools import pairwise
from typing import Any
from xml.etree.ElementTree import Element

import tinycss2
from cssselect2 import ElementWrapper, Matcher, SelectorError, compile_selector_list
from tinycss2.color4 import parse_color

from nesting.errors import PatternError
from nesting.reading.dashes import dash_name
from nesting.reading.svg.file import SVG, local

__all__ = ["Styles", "colour", "dashes", "geometry_set", "opacity", "unpainted"]

MOST_MATCHES = 2_000_000
"""No style sheet may have more rules, times the elements of the file."""

LONGEST_SHEET = 1_000_000
"""No style sheets may have more characters together."""

_GEOMETRY = {
    "circle": ("cx", "cy", "r"),
    "ellipse": ("cx", "cy", "rx", "ry"),
    "rect": ("x", "y", "width", "height", "rx", "ry"),
    "svg": ("x", "y", "width", "height"),
    "use": ("x", "y", "width", "height"),
    "path": ("d",),
}
"""The attributes that CSS may set (SVG 2, 7.2: geometry properties; 9.3.1 for `d`)."""

_PRESENTED = (
    "display",
    "visibility",
    "opacity",
    "overflow",
    "stroke",
    "stroke-opacity",
    "stroke-width",
    "stroke-dasharray",
    "fill-opacity",
    "font-size",
    "text-anchor",
    "transform",
    "transform-origin",
    "fill",
    "clip-path",
    "mask",
    "marker-start",
    "marker-end",
)
_ONLY_CSS = (
    "font",
    "mask-image",
    "mask-border",
    "mask-border-source",
    "-webkit-mask",
    "-webkit-mask-image",
    "marker",
    "transform-box",
    "translate",
    "rotate",
    "scale",
    "offset-path",
)
_TELLING = {*_PRESENTED, *_ONLY_CSS, *(name for names in _GEOMETRY.values() for name in names)}
_PAINTS = {"stroke", "stroke-opacity", "stroke-width", "fill", "fill-opacity"}
_LOOKS = {
    *_PAINTS,
    "stroke-dasharray",
    "font",
    "font-size",
    "text-anchor",
    "marker",
    "marker-start",
    "marker-end",
}
"""What an unread rule may change without anybody cutting anything else."""
_AT_REST = ("hover", "focus", "active", "visited", "target", "focus-within", "focus-visible")
_HARMLESS = {"font-face", "charset", "namespace", "keyframes", "page", "counter-style"}
_SHOWN_ON = ("", "all", "screen", "print")


class Styles:
    """The styles of a drawing's elements (SVG 2, chapter 6; CSS Cascading 4, 6).

    Selectors that depend on a reader's pointer count for nothing; a rule that would change
    what is drawn but can't be read is refused.

    Raises
    ------
    PatternError
        If a rule that would hide, move or reshape something can't be read, or there are
        more rules than any pattern needs.

    """

    def __init__(self, root: Element) -> None:
        self._matcher: Any = Matcher()
        self._rules = 0
        self._matched: dict[Element, list[tuple[Any, ...]]] = {}
        sheets = [e for e in root.iter() if local(e) == "style"]
        texts = ["".join(e.itertext()) for e in sheets if _is_css(e)]
        if sum(map(len, texts)) > LONGEST_SHEET:
            raise PatternError(
                f"style sheets of more than {LONGEST_SHEET:,} characters",
                hint="save it with plain attributes instead of a style sheet",
            )
        try:
            for text in texts:
                rules = tinycss2.parse_stylesheet(text, skip_comments=True, skip_whitespace=True)
                self._sheet(rules)
        except RecursionError:
            raise PatternError(
                "a style sheet is nested far too deeply",
                hint="save it with plain attributes instead of a style sheet",
            ) from None
        if self._rules:
            self._match(root)

    def _match(self, root: Element) -> None:
        elements = sum(1 for _ in root.iter())
        if elements * self._rules > MOST_MATCHES:
            raise PatternError(
                f"{self._rules:,} style rules for {elements:,} elements are too many",
                hint="export it with plain attributes instead of a style sheet",
            )
        letters = 0
        for wrapper in ElementWrapper.from_xml_root(root).iter_subtree():
            element = wrapper.etree_element
            if local(element):
                self._matched[element] = self._matcher.match(wrapper)
                letters += len(self.of(element).get("d", ""))
        if letters > LONGEST_SHEET:
            raise PatternError(
                f"a style sheet draws paths of more than {LONGEST_SHEET:,} letters",
                hint="put the paths into their elements",
            )

    def of(self, element: Element) -> dict[str, str]:
        """Return what holds for an element: style over sheets over attributes."""
        out = {key: element.attrib[key] for key in _PRESENTED if key in element.attrib}
        strong: dict[str, str] = {}
        for *_, pseudo, (declared, important) in self._matched.get(element, ()):
            if pseudo is None:
                out.update(declared)
                strong.update(important)
        declared, important = _declarations(element.get("style", ""))
        return {**out, **declared, **strong, **important}

    def _sheet(self, rules: list[Any]) -> None:
        for rule in rules:
            if rule.type == "qualified-rule":
                self._rule(rule)
            elif rule.type == "at-rule":
                self._at_rule(rule)

    def _at_rule(self, rule: Any) -> None:
        name = rule.lower_at_keyword
        if name in _HARMLESS or name.endswith("keyframes"):
            return
        said = tinycss2.serialize(rule.prelude).strip().lower()
        if name == "import":
            raise PatternError(
                "a style sheet takes in another file, which is not read",
                hint="export it with plain attributes instead of a style sheet",
            )
        inner = tinycss2.parse_rule_list(
            rule.content or [], skip_comments=True, skip_whitespace=True
        )
        if name == "media":
            media = [part.strip().removeprefix("only ") for part in said.split(",")]
            if any(part in _SHOWN_ON for part in media):
                self._sheet(inner)
                return
            if all(part in ("speech", "not all", "braille", "tty", "tv") for part in media):
                return
        if any(r.type == "qualified-rule" and _tells(*_declarations(r.content)) for r in inner):
            raise _unread(f"@{name} {said}")

    def _rule(self, rule: Any) -> None:
        declared, important = _declarations(rule.content)
        if not declared and not important:
            return
        said = tinycss2.serialize(rule.prelude).strip()
        tells = _tells(declared, important)
        for part in _parts(rule.prelude):
            text = tinycss2.serialize(part).strip()
            words = [token.value.lower() for token in _after_colons(part)]
            if any(word in _AT_REST for word in words):
                continue
            slow = any(token.type == "literal" and token.value == "~" for token in part)
            selectors: list[Any] = []
            if not slow and all(word == "root" for word in words):
                with suppress(SelectorError):
                    selectors = compile_selector_list(text, {None: SVG, "svg": SVG})
            if not selectors and tells:
                raise _unread(said)
            for selector in selectors:
                self._rules += 1
                self._matcher.add_selector(selector, (declared, important))


def _is_css(element: Element) -> bool:
    kind = element.get("type", "").strip().lower()
    media = element.get("media", "").strip().lower()
    return kind in ("", "text/css") and any(m.strip() in _SHOWN_ON for m in media.split(","))


def _parts(tokens: list[Any]) -> Iterator[list[Any]]:
    """Give the selectors of a list, parted by commas."""
    part: list[Any] = []
    for token in tokens:
        if token.type == "literal" and token.value == ",":
            yield part
            part = []
        else:
            part.append(token)
    yield part


def _after_colons(tokens: list[Any]) -> Iterator[Any]:
    """Give what names a pseudo-class, or stands for one that takes something."""
    for before, token in pairwise(tokens):
        if before.type == "literal" and before.value == ":" and token.type != "literal":
            yield token if token.type == "ident" else _Named(getattr(token, "lower_name", "?"))


class _Named:
    def __init__(self, value: str) -> None:
        self.value = value


def _declarations(content: Any) -> tuple[dict[str, str], dict[str, str]]:
    """Return plain and important declarations of what matters for a pattern."""
    declared: dict[str, str] = {}
    important: dict[str, str] = {}
    if not content:
        return declared, important
    for found in tinycss2.parse_blocks_contents(content, skip_comments=True, skip_whitespace=True):
        if found.type == "declaration" and found.lower_name in _TELLING:
            value = tinycss2.serialize(found.value).strip()
            (important if found.important else declared)[found.lower_name] = value
    return declared, important


def _tells(declared: Mapping[str, str], important: Mapping[str, str]) -> bool:
    return not _LOOKS.issuperset({*declared, *important})


def _unread(said: str) -> PatternError:
    return PatternError(
        f"the style sheet's rule for {said[:60]!r} is not read, and it changes what is drawn",
        hint="export it with plain attributes instead of a style sheet",
    )


def geometry_set(element: Element, style: Mapping[str, str]) -> Element:
    """Return the element with the places and sizes that CSS gives it."""
    given = {name: style[name] for name in _GEOMETRY.get(local(element), ()) if name in style}
    if not given:
        return element
    if "d" in given and given["d"] != "none":
        given["d"] = _path_data(given["d"])
    out = Element(element.tag, {**element.attrib, **given})
    out.extend(element)
    out.text = element.text
    return out


def _path_data(text: str) -> str:
    tokens = [t for t in tinycss2.parse_component_value_list(text) if t.type != "whitespace"]
    if len(tokens) == 1 and tokens[0].type == "function" and tokens[0].lower_name == "path":
        inner = [t for t in tokens[0].arguments if t.type == "string"]
        if len(inner) == 1:
            return str(inner[0].value)
    raise PatternError(f"{text[:30]!r} is no path of a style sheet", hint='write path("M 0 0 …")')


def colour(text: str) -> str:
    """Return a colour in one writing, so that "red", "#F00" and "rgb(255,0,0)" are the same."""
    try:
        found = parse_color(text)
        if found is None or isinstance(found, str):
            return text.casefold()
        srgb = found.to("srgb")
        return "#" + "".join(f"{round(255 * max(0.0, min(1.0, c))):02x}" for c in srgb[:3])
    except (ValueError, TypeError, NotImplementedError, AttributeError):
        return text.casefold()


def unpainted(style: Mapping[str, str], above: tuple[bool, bool]) -> tuple[bool, bool]:
    """Tell whether an element is said to have no fill, and no stroke; `above`: the same around it.

    What is said nowhere counts as painted, though SVG strokes nothing then: drawings by hand
    leave it out.
    """
    said = []
    for name, none in zip(("fill", "stroke"), above, strict=True):
        paint = style.get(name, "inherit").strip().lower()
        none = none if paint == "inherit" else paint in ("none", "transparent")
        zero = [style.get(f"{name}-opacity", "1")]
        zero += [style.get("stroke-width", "1")] if name == "stroke" else []
        said.append(none or any(_NOTHING.fullmatch(value.strip()) for value in zero))
    return said[0], said[1]


def dashes(style: Mapping[str, str], above: str) -> str:
    """Return what an element's line is called by its dashes; `above`: the same around it.

    SVG 2, 13.5.6: an odd number of lengths is repeated; a dot is no longer than twice its line is
    wide, as far as both are said in one unit.
    """
    said = style.get("stroke-dasharray", "inherit").strip().lower()
    if said == "inherit":
        return above
    lengths = [float(number) for number in _LENGTHS.findall(said)]
    if len(lengths) % 2:
        lengths *= 2
    width = _LENGTHS.findall(style.get("stroke-width", "1")) or ["1"]
    return dash_name(lengths, 2.0 * float(width[0]))


_LENGTHS = re.compile(r"(?:\d+\.?\d*|\.\d+)(?:e[+-]?\d{1,2})?", re.IGNORECASE)
_NOTHING = re.compile(r"[+-]?(?:0+\.?0*|\.0+)(?:[a-z]*|%)", re.IGNORECASE)


def opacity(style: Mapping[str, str]) -> float:
    """Return how much of an element is seen, 0 to 1; 1 if it does not say."""
    text = style.get("opacity", "1").strip()
    try:
        return float(text.removesuffix("%")) / (100.0 if text.endswith("%") else 1.0)
    except ValueError:
        return 1.0
