"""SVG files as a tree of elements, and nothing fetched or blown up on the way."""

from __future__ import annotations

import re
from xml.etree.ElementTree import Element, ParseError

from defusedxml import DefusedXmlException, EntitiesForbidden
from defusedxml.ElementTree import DefusedXMLParser

from nesting.errors import PatternError

__all__ = [
    "children",
    "local",
    "meant_for_us",
    "names",
    "parse_svg",
    "reference",
    "shown_in_switch",
    "title",
    "weighed",
]

SVG = "http://www.w3.org/2000/svg"

DEEPEST = 60
"""Groups within groups; drawing programs don't go beyond ten."""
DEEPEST_USED = 120
"""The same, with what is used counted where it is used."""
MOST_THINGS = 100_000
"""No file may draw more elements, with `use` counted as often as drawn, and an outline
for one more with every so many characters."""
_LETTERS = 160

_LONGEST_ENTITY = 200
_MOST_ENTITIES = 50
_NUMBERED = re.compile(
    r"(?:g|group|layer|path|rect|circle|ellipse|poly(?:gon|line)|line|use|svg|symbol|text|tspan"
    r"|object|shape|surface|clip|id|selection|compound|element)?[ _-]?\d[\d_-]*",
    re.IGNORECASE,
)
"""Names that programs give on their own say nothing."""


class _Parser(DefusedXMLParser):  # type: ignore[misc]
    """Refuses what can blow up or reach outside; short constants are let through.

    Drawing programs write their name spaces as entities: harmless text without further
    entities in it.
    """

    def __init__(self) -> None:
        super().__init__(forbid_dtd=False, forbid_entities=True, forbid_external=True)
        self._entities = 0

    def defused_entity_decl(
        self,
        name: str,
        is_parameter_entity: int,
        value: str | None,
        base: str | None,
        sysid: str | None,
        pubid: str | None,
        notation_name: str | None,
    ) -> None:
        self._entities += 1
        short = value is not None and len(value) <= _LONGEST_ENTITY and "&" not in value
        if is_parameter_entity or not short or self._entities > _MOST_ENTITIES:
            raise EntitiesForbidden(name, value, base, sysid, pubid, notation_name)


def parse_svg(data: bytes) -> Element:
    """Return the root element.

    Raises
    ------
    PatternError
        If it is no well-formed XML, no SVG, or has entities or references to outside.

    """
    parser = _Parser()
    try:
        parser.feed(data)
        root: Element = parser.close()
    except DefusedXmlException:
        raise PatternError(
            "the file has XML entities or outside references, which are not read",
            hint="export it as plain SVG",
        ) from None
    except ParseError as trouble:
        line = trouble.position[0] if trouble.position else None
        what = str(trouble).split(":")[0]
        raise PatternError(
            f"this is not well-formed XML: {what}", line=line, hint="save the drawing anew"
        ) from None
    except (ValueError, LookupError):  # codings that nobody knows
        raise PatternError(
            "the coding of the XML file is not known", hint="save it in UTF-8"
        ) from None
    if local(root) != "svg":
        raise PatternError("this XML file is not SVG", hint="its first element must be svg")
    return root


def weighed(root: Element) -> dict[str, Element]:
    """Return the elements by id, if the drawing is of a bearable size.

    Raises
    ------
    PatternError
        If groups lie too deep, something is used inside itself, or with every `use`
        counted the file draws more than `MOST_THINGS`.

    """
    by_id: dict[str, Element] = {}
    level, depth = [root], 0
    while level:
        if depth > DEEPEST:
            raise _too_deep()
        for element in level:
            by_id.setdefault(element.get("id", ""), element)
        level, depth = [child for element in level for child in element], depth + 1
    by_id.pop("", None)
    if _weight(root, by_id, {}, (), 0)[0] > MOST_THINGS:
        raise PatternError(
            f"the file draws more than {MOST_THINGS:,} things, every use counted",
            hint="no pattern is so large",
        )
    return by_id


def _weight(
    element: Element,
    by_id: dict[str, Element],
    known: dict[str, tuple[int, int]],
    within: tuple[str, ...],
    depth: int,
) -> tuple[int, int]:
    """Return how many elements, and points of outlines, an element draws, and how deep."""
    if depth > DEEPEST_USED:
        raise _too_deep()
    letters = sum(len(element.get(name, "")) for name in ("d", "points", "style"))
    weight, height = 1 + letters // _LETTERS, 0
    for child in element:
        more, below = _weight(child, by_id, known, within, depth + 1)
        weight, height = weight + more, max(height, below + 1)
    name = reference(element).removeprefix("#") if local(element) == "use" else ""
    if name not in by_id:
        return weight, height
    if name in within:
        raise PatternError(
            f"#{name[:60]} is used inside itself", hint="replace the use elements by what they show"
        )
    if name not in known:
        known[name] = _weight(by_id[name], by_id, known, (*within, name), depth + 1)
    more, below = known[name]
    if depth + below > DEEPEST_USED:
        raise _too_deep()
    return weight + more, max(height, below + 1)


def _too_deep() -> PatternError:
    return PatternError("groups lie too deep in one another", hint="no pattern needs that")


def reference(element: Element) -> str:
    """Return what a `use` refers to."""
    return element.get("href") or element.get("{http://www.w3.org/1999/xlink}href") or ""


def local(element: Element) -> str:
    """Return an SVG element's name without its name space; "" for anything else."""
    tag = element.tag
    if not isinstance(tag, str):  # comments and processing instructions
        return ""
    if tag.startswith("{"):
        space, _, name = tag[1:].partition("}")
        return name if space == SVG else ""
    return tag


def children(element: Element, name: str) -> list[Element]:
    """Return the direct children with a name."""
    return [child for child in element if local(child) == name]


def title(element: Element) -> str:
    """Return an element's title: a child element in SVG."""
    return next((_plain("".join(t.itertext())) for t in children(element, "title")), "")


def names(element: Element, *, top: bool = False) -> list[str]:
    """Return the names of an element, the one meant for people first: title, label, id.

    Labels are any attribute of that name, as drawing programs name layers in a name
    space of their own. Numbered names that programs give by themselves are left out.
    """
    said = [] if top else [title(element)]
    said += [
        _plain(value)
        for key, value in element.attrib.items()
        if key.rpartition("}")[2] in ("label", "aria-label")
    ]
    said.append(element.get("id", "").strip())
    return [name for name in said if name and not _NUMBERED.fullmatch(name)]


def shown_in_switch(element: Element) -> Element | None:
    """Return the one child that a `switch` shows (SVG 2, 5.9.3)."""
    return next((child for child in element if local(child) and meant_for_us(child)), None)


def meant_for_us(element: Element) -> bool:
    """Tell whether the conditions of an element hold (SVG 2, 5.9).

    No extension is known here, and of languages English is read, so that a file gives the
    same pieces everywhere.
    """
    extensions = element.get("requiredExtensions")
    languages = element.get("systemLanguage")
    if extensions is not None:
        return False
    if languages is None:
        return True
    return any(part.strip().lower().split("-")[0] == "en" for part in languages.split(","))


def _plain(text: str) -> str:
    return " ".join(text.split())
