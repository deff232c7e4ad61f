"""What the outermost svg says of its size: how long a user unit is, and what is doubtful there."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from xml.etree.ElementTree import Element

from nesting.errors import Finding, PatternError
from nesting.pattern.path import Affine
from nesting.reading.items import Group
from nesting.reading.raw_pattern import note
from nesting.reading.svg.units import parse_length, parse_view_box, view_map
from nesting.reading.unit.check_square import square_side
from nesting.reading.unit.scale import INCH, Claim, named_factor

__all__ = ["Viewport", "doubtful_px", "viewport"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Viewport:
    """What the root says of the unit, a squeeze if it has one, its size in user units."""

    claims: list[Claim]
    squeeze: Affine
    size: tuple[float, float]
    findings: tuple[Finding, ...] = ()


def viewport(root: Element) -> Viewport:
    """Read the root's width, height and viewBox.

    The unit is the root's user unit. Its length follows from width, height and
    viewBox; without a viewBox it is 1 px, whatever width and height say.

    Raises
    ------
    PatternError
        The width or the height is not more than 0, or one of the three can't be read.

    """
    box = parse_view_box(root.get("viewBox"))
    sides = [parse_length(root.get(side) or "100%") for side in ("width", "height")]
    said = " and ".join(
        f"{side} {root.get(side)}" for side in ("width", "height") if root.get(side)
    )
    px = [side.px() for side in sides]
    if not any(px):
        size = (box[2], box[3]) if box else (100.0, 100.0)
        return Viewport(claims=[], squeeze=Affine(), size=size)
    if box is None:
        claim = _claim(INCH / 96, f"{said} without a viewBox: the unit is SVG's px")
        only_px = all(side.unit in ("", "px", "%") for side in sides)
        return Viewport(
            claims=[claim],
            squeeze=Affine(),
            size=(px[0] or 0.0, px[1] or 0.0),
            findings=(_screen_units(),) if only_px else (),
        )
    width = px[0] if px[0] is not None else (px[1] or 0.0) * box[2] / box[3]
    height = px[1] if px[1] is not None else (px[0] or 0.0) * box[3] / box[2]
    if not (width > 0.0 and height > 0.0):
        raise PatternError(
            "the drawing's width or height is not more than 0",
            hint="write the size of the page there, as 210mm",
        )
    by = view_map(box, width, height, aspect=root.get("preserveAspectRatio", ""))
    firm = any(side.unit not in ("", "px", "%", "em", "ex") for side in sides)
    findings = [] if firm else [_screen_units()]
    squeeze = Affine(d=by.d / by.a)
    if abs(squeeze.d - 1.0) > 1e-3:
        text = (
            f"width, height and viewBox stretch the drawing: a unit is {by.d / by.a:.5g} "
            "times as long down as across, as preserveAspectRatio says"
        )
        findings.append(note("stretched", text))
    elif abs(squeeze.d - 1.0) < 1e-12:
        squeeze = Affine()
    why = f"{said} for a viewBox of {box[2]:g} × {box[3]:g}"
    return Viewport(
        claims=[_claim(by.a * INCH / 96, why, firm=firm)],
        squeeze=squeeze,
        size=(box[2], box[3]),
        findings=tuple(findings),
    )


def doubtful_px(claims: Sequence[Claim], groups: Sequence[Group], findings: list[Finding]) -> bool:
    """Tell whether px are claimed, and a square is drawn of an inch by an older count."""
    sides = [side for group in groups for item in group.items if (side := square_side(item))]
    odd = next((n for n in (72, 90) if any(abs(side - n) <= 0.01 for side in sides)), None)
    px = any(abs(side - 96.0) <= 0.01 for side in sides)
    if odd is None or px or any(claim.firm or claim.unit != "px" for claim in claims):
        return False
    text = (
        f"the size is given in px only, and a square of {odd} is drawn: an inch for programs "
        f"that count {odd} to the inch, {odd / 96:.4g} of one as SVG counts"
    )
    findings.append(note("scale", text))
    return True


def _screen_units() -> Finding:
    text = (
        "the size is given in px only: 1/96 in each, as SVG says; programs that count 72 or "
        "90 to the inch mean pieces 1.3333 or 1.0667 times as large"
    )
    return note("scale", text)


def _claim(factor: float, why: str, *, firm: bool = False) -> Claim:
    unit, exact = named_factor(factor, within=1e-9)
    near, _ = named_factor(factor, within=1e-3)
    if unit != near:
        unit = f"{near} (rounded, {factor:.6g} mm)"
    return Claim(factor=exact, unit=unit, why=why, firm=firm)
