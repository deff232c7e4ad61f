"""Several scanned pages, each read by itself, become one pattern: they lie side by side."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace

import cv2
import numpy as np
from numpy.typing import NDArray

from nesting.errors import PatternError, Severity
from nesting.pattern.path import Affine
from nesting.reading.items import CLOSE, transformed_item
from nesting.reading.pictures.picture import Picture
from nesting.reading.pictures.reader import Pen, read_photograph
from nesting.reading.pictures.references.reference import Reference
from nesting.reading.pictures.shown import Shown
from nesting.reading.raw_pattern import RawPattern, note

__all__ = ["read_pages"]

_MOST = 30_000_000
"""Pixels of the picture that shows all pages."""
_APART = 20.0
"""How far pages lie from one another (mm)."""


def read_pages(
    pages: Mapping[int, Picture],
    references: Sequence[Reference],
    *,
    pen: Pen | None = None,
    close: float = CLOSE,
) -> tuple[RawPattern, Shown]:
    """Read the pieces of pages by their number; a page that can't be read is told and left out.

    Raises
    ------
    PatternError
        If none of them can be read: what is wrong with the first one.

    """
    if len(pages) == 1:
        (only,) = pages.values()
        return read_photograph(only, references, pen=pen, close=close)
    read: dict[int, tuple[RawPattern, Shown]] = {}
    refused: dict[int, PatternError] = {}
    for number, picture in pages.items():
        try:
            read[number] = read_photograph(picture, references, pen=pen, close=close)
        except PatternError as trouble:
            refused[number] = trouble
    if not read:
        number, first = next(iter(refused.items()))
        raise PatternError(
            f"page {number}: {first.what}", field=first.field, hint=first.hint
        ) from first
    raw, shown = _side_by_side(read)
    for number, why in refused.items():
        text = f"page {number} is left out: {why.what}"
        raw.findings.append(note("page", text, severity=Severity.FAULT))
    return raw, shown


def _side_by_side(read: Mapping[int, tuple[RawPattern, Shown]]) -> tuple[RawPattern, Shown]:
    """Return what was read of pages as if they lay in a row, their upper edges level."""
    first, _ = next(iter(read.values()))
    every = [shown for _, shown in read.values()]
    wide = sum(s.pixels.shape[1] * s.mm_per_pixel + _APART for s in every)
    high = max(s.pixels.shape[0] * s.mm_per_pixel for s in every)
    scale = max(every[0].mm_per_pixel, float(np.sqrt(wide * high / _MOST)))
    whole = np.full((round(high / scale) + 1, round(wide / scale) + 1, 3), 255, np.uint8)
    together = replace(first, drafts=[], findings=[])
    outlines, references, left = [], [], 0
    for raw, shown in read.values():
        share = shown.mm_per_pixel / scale
        small = _resized(shown.pixels, share)[: whole.shape[0], : whole.shape[1] - left]
        whole[: small.shape[0], left : left + small.shape[1]] = small
        by = Affine.move(left * scale - shown.origin[0], high - shown.origin[1])
        for draft in raw.drafts:
            items = [transformed_item(item, by) for item in draft.group.items]
            together.drafts.append(replace(draft, group=replace(draft.group, items=items)))
        outlines += [path.transformed(by) for path in shown.outlines]
        references += [
            tuple((left + x * share, y * share) for x, y in ring) for ring in shown.references
        ]
        left += small.shape[1] + round(_APART / scale)
    _tell(together, read)
    seen = Shown(
        pixels=whole,
        mm_per_pixel=scale,
        origin=(0.0, high),
        outlines=tuple(outlines),
        references=tuple(references),
    )
    return together, seen


def _resized(pixels: NDArray[np.uint8], share: float) -> NDArray[np.uint8]:
    size = (max(1, round(pixels.shape[1] * share)), max(1, round(pixels.shape[0] * share)))
    return np.asarray(cv2.resize(pixels, size, interpolation=cv2.INTER_AREA), np.uint8)


def _tell(together: RawPattern, read: Mapping[int, tuple[RawPattern, Shown]]) -> None:
    """Say what was found on each page; what is true of all of them is said once."""
    texts = [{finding.text for finding in raw.findings} for raw, _ in read.values()]
    common = set.intersection(*texts)
    for number, (raw, _) in read.items():
        for finding in raw.findings:
            if finding.text not in common:
                text = f"page {number}: {finding.text}"
                together.findings.append(replace(finding, text=text))
            elif raw is next(iter(read.values()))[0]:
                together.findings.append(finding)
