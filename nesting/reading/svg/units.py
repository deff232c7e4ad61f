"""Lengths, transforms and viewports of SVG (CSS Values 4; SVG 2, chapters 7 and 8)."""

from __future__ import annotations

import math
import re
from collections.abc import Mapping
from dataclasses import dataclass

from nesting.errors import PatternError
from nesting.pattern.path import Affine

__all__ = [
    "CSS_UNITS",
    "Length",
    "parse_length",
    "parse_transform",
    "parse_view_box",
    "transform_of",
    "view_map",
]

CSS_UNITS = {
    "": 1.0,
    "px": 1.0,
    "pt": 96 / 72,
    "pc": 16.0,
    "in": 96.0,
    "cm": 96 / 2.54,
    "mm": 96 / 25.4,
    "q": 96 / 101.6,
    "em": 16.0,
    "ex": 8.0,
}
"""px per unit: 1 in = 96 px = 2.54 cm, 1 pt = 1/72 in, 1 pc = 1/6 in, 1 Q = 1/40 cm
(CSS Values and Units 4, section 6.2). em and ex with the initial font of 16 px."""

_NUMBER = r"[+-]?(?:\d+\.?\d*|\.\d+)(?:[eE][+-]?\d+)?"
_LENGTH = re.compile(rf"\s*({_NUMBER})\s*([a-zA-Z]*|%)\s*")
_STEP = re.compile(r"[\s,]*([a-zA-Z]+)\s*\(([^()]*)\)[\s,]*")


@dataclass(frozen=True, slots=True)
class Length:
    """A number and its unit as written, "" for none."""

    value: float
    unit: str

    def px(self, *, whole: float | None = None) -> float | None:
        """Return the length in px (user units); a share needs to know of what."""
        if self.unit == "%":
            return None if whole is None else self.value / 100.0 * whole
        return self.value * CSS_UNITS[self.unit]


def parse_length(text: str) -> Length:
    """Read a length: "12", "12.5mm", "50%"."""
    match = _LENGTH.fullmatch(text)
    unit = match[2].lower() if match else "?"
    value = float(match[1]) if match else math.nan
    if (unit not in CSS_UNITS and unit != "%") or not abs(value) < 1e9:
        raise PatternError(
            f"{text[:30]!r} is not a length", hint="write it as 120mm, 12cm, 5in or a plain number"
        )
    return Length(value, unit)


def parse_transform(text: str) -> Affine:
    """Read a transform list; the first one is done last (SVG 2, 8.5)."""
    result = Affine()
    at = 0
    while at < len(text):
        match = _STEP.match(text, at)
        if not match:
            if text[at:].strip() in ("", "none"):
                break
            raise PatternError(
                f"{text[at : at + 30]!r} is not a transform",
                hint="apply the transform to the outlines in the drawing",
            )
        result = result.after(_step(match[1], match[2]))
        at = match.end()
    return result


def transform_of(style: Mapping[str, str], view: tuple[float, float]) -> Affine:
    """Return an element's own map, about its transform-origin (CSS Transforms 1, 4 and 6)."""
    for name in ("translate", "rotate", "scale", "offset-path"):
        if style.get(name, "none").strip() not in ("", "none", "initial"):
            raise PatternError(f"the style {name!r} is not read", hint='say it with "transform"')
    by = parse_transform(style.get("transform", ""))
    words = style.get("transform-origin", "0 0").lower().split()
    if by == Affine() or words in (["0", "0"], ["0"], ["initial"], ["top", "left"]):
        return by
    if style.get("transform-box", "view-box").strip() != "view-box":
        raise PatternError(
            "a transform about the middle of a box is not read",
            hint="apply the transform to the outlines in the drawing",
        )
    if words in (["center"], ["50%"]):
        words = ["50%", "50%"]
    try:
        x, y = (
            parse_length(word).px(whole=whole) or 0.0
            for word, whole in zip(words[:2], view, strict=True)
        )
    except (PatternError, ValueError):
        raise PatternError(
            f"the transform-origin {' '.join(words)[:40]!r} is not read",
            hint="apply the transform to the outlines in the drawing",
        ) from None
    return Affine.move(x, y).after(by.after(Affine.move(-x, -y)))


def _step(name: str, arguments: str) -> Affine:
    words = [word for word in re.split(r"[\s,]+", arguments.strip()) if word]
    try:
        v = [float(re.sub(r"(?:px|deg)$", "", word)) for word in words]
    except ValueError:
        v = [math.nan]
    made: Affine | None = None
    if not all(abs(number) < 1e12 for number in v):
        made = None
    elif name == "matrix" and len(v) == 6:
        made = Affine(v[0], v[2], v[1], v[3], v[4], v[5])
    elif name == "translate" and len(v) in (1, 2):
        made = Affine.move(v[0], v[1] if len(v) == 2 else 0.0)
    elif name == "scale" and len(v) in (1, 2):
        made = Affine(v[0], 0.0, 0.0, v[-1])
    elif name == "rotate" and len(v) == 1:
        made = Affine.turn(v[0])
    elif name == "rotate" and len(v) == 3:
        there, back = Affine.move(v[1], v[2]), Affine.move(-v[1], -v[2])
        made = there.after(Affine.turn(v[0]).after(back))
    elif name == "skewX" and len(v) == 1:
        made = Affine(b=math.tan(math.radians(v[0])))
    elif name == "skewY" and len(v) == 1:
        made = Affine(c=math.tan(math.radians(v[0])))
    if made is None:
        raise PatternError(
            f"'{name}({arguments[:30]})' is not a transform",
            hint="apply the transform to the outlines in the drawing",
        )
    return made


def parse_view_box(text: str | None) -> tuple[float, float, float, float] | None:
    """Read x, y, width and height; None if there is none or it is empty."""
    if text is None or not text.strip():
        return None
    words = [word for word in re.split(r"[\s,]+", text.strip()) if word]
    try:
        x, y, width, height = map(float, words)
    except ValueError:
        raise PatternError(
            f"{text[:40]!r} is not a viewBox", hint="write four numbers: left, top, width, height"
        ) from None
    if not all(abs(number) < 1e12 for number in (x, y, width, height)):
        raise PatternError(
            f"{text[:40]!r} is not a viewBox", hint="write four numbers: left, top, width, height"
        )
    return (x, y, width, height) if width > 0.0 and height > 0.0 else None


def view_map(
    box: tuple[float, float, float, float], width: float, height: float, *, aspect: str
) -> Affine:
    """Return the map from a viewBox to a viewport at the origin (SVG 2, 8.2 and 8.6)."""
    x, y, w, h = box
    sx, sy = width / w, height / h
    words = aspect.replace("defer", "").split() or ["xMidYMid"]
    align = words[0]
    if align == "none":
        return Affine(sx, 0.0, 0.0, sy, -x * sx, -y * sy)
    if not re.fullmatch(r"x(Min|Mid|Max)Y(Min|Mid|Max)", align):
        align = "xMidYMid"
    scale = max(sx, sy) if words[-1] == "slice" else min(sx, sy)
    share = {"Min": 0.0, "Mid": 0.5, "Max": 1.0}
    dx = share[align[1:4]] * (width - w * scale) - x * scale
    dy = share[align[5:8]] * (height - h * scale) - y * scale
    return Affine(scale, 0.0, 0.0, scale, dx, dy)
