"""The plain ground of a picture, told from what lies on it, under uneven light."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import cv2
import numpy as np
from numpy.typing import NDArray

from nesting.reading.pictures.picture import Pixels

__all__ = ["Apart", "apart", "blurred", "shrunk"]

Floats = NDArray[np.float32]
Mask = NDArray[np.bool_]

_SHARP = 0.35
"""A dark patch whose rim is sharp along a smaller share than this is a shadow."""
_FAR = 0.4
"""What differs from the ground by a smaller share of what its thing does on the whole is none of
it: at an edge both are mixed half and half."""
_TIMES = 4.5
"""So many times what half of the ground differs from its own colour at least is no ground."""
_LEAST = 7.0
"""What differs from the ground by less (CIE Lab) is ground: twice what JPEG and a grain do."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Apart:
    """What lies on the ground: `mask`, in a picture made smaller by `scale`."""

    mask: Mask
    scale: float


def shrunk(pixels: Pixels, side: int) -> tuple[Pixels, float]:
    """Return the picture with no side longer than `side`, and how much smaller it is."""
    longest = max(pixels.shape[:2])
    scale = max(1.0, longest / side)
    if scale == 1.0:
        return pixels, 1.0
    height, width = pixels.shape[:2]
    size = (max(1, round(width / scale)), max(1, round(height / scale)))
    small = cv2.resize(pixels, size, interpolation=cv2.INTER_AREA)
    return small.astype(np.uint8), scale


def apart(pixels: Pixels, *, side: int = 1200) -> Apart:
    """Tell the ground from what lies on it.

    The ground is what the rim of the picture mostly shows; its colour may change slowly, as
    light does. A patch that is darker but of the ground's hue is a thing where its rim is
    sharp, else a shadow.
    """
    small, scale = shrunk(pixels, side)
    lab = cv2.cvtColor(small.astype(np.float32) / 255.0, cv2.COLOR_RGB2LAB).astype(np.float32)
    lab = np.asarray(cv2.GaussianBlur(lab, (0, 0), 1.0), np.float32)
    off, dark = _differences(lab)
    bound = _bound(off)
    for _ in range(2):  # the ground as it is near each place: soft shadows, light from windows
        near = _local(lab, off < bound)
        off, dark = _against(lab, near)
        bound = _bound(off)
    mask = (off > bound) & ~dark
    mask |= _sharp(off, dark & (off > bound), mask, lab)
    return Apart(mask=_tidy(_marked(off, mask)), scale=scale)


def _differences(lab: Floats) -> tuple[Floats, Mask]:
    """Return how far every pixel is from a ground whose colour changes as a square does."""
    height, width = lab.shape[:2]
    edge = max(2, min(height, width) // 25)
    rim = np.ones((height, width), bool)
    rim[edge:-edge, edge:-edge] = False
    draw = np.random.default_rng(0)
    on_rim = draw.permutation(np.flatnonzero(rim.ravel()))[:10_000]
    anywhere = draw.permutation(height * width)[:20_000]
    flat = lab.reshape(-1, 3)
    fit = np.zeros((6, 3))
    fit[0] = np.median(flat[on_rim], axis=0)
    for step in range(8):
        some, terms = (on_rim, 3) if step < 3 else (anywhere, 6)
        basis = _basis(some % width / width, some // width / height)
        far = np.linalg.norm(flat[some] - basis @ fit, axis=1)
        close = far[far < 40.0]
        usual = float(np.median(close)) if len(close) else 6.0
        near = far < max(6.0, 2.5 * usual)
        if near.sum() < 60:
            break
        fit[:terms] = np.linalg.lstsq(basis[near, :terms], flat[some[near]], rcond=None)[0]
    x, y = np.meshgrid(np.arange(width) / width, np.arange(height) / height, sparse=True)
    model = sum(term[..., None] * fit[i] for i, term in enumerate(_terms(x, y)))
    return _against(lab, np.asarray(model, np.float32))


def _terms(x: NDArray[Any], y: NDArray[Any]) -> list[NDArray[Any]]:
    return [np.ones_like(x), x, y, x * x, x * y, y * y]


def _basis(x: NDArray[Any], y: NDArray[Any]) -> NDArray[Any]:
    return np.stack(_terms(x, y), axis=1)


def _against(lab: Floats, ground: Floats) -> tuple[Floats, Mask]:
    """Return the difference in colour, and where a pixel is darker but of the ground's hue."""
    gap = lab - ground
    hue = np.hypot(gap[..., 1], gap[..., 2])
    off = np.sqrt(gap[..., 0] ** 2 + hue**2)
    dark = (gap[..., 0] < 0.0) & (hue < 4.0 + 0.25 * np.abs(gap[..., 0]))
    return np.asarray(off, np.float32), dark


def _bound(off: Floats) -> float:
    """Return the difference that parts ground and things: far beyond what the ground's are."""
    some = off[::3, ::3]
    usual = float(np.median(some[some < 25.0])) if (some < 25.0).any() else _LEAST
    return float(np.clip(_TIMES * usual, _LEAST, 25.0))


def _local(lab: Floats, ground: Mask) -> Floats:
    """Return the ground's colour near every place, from what is surely ground."""
    sure = cv2.erode(ground.astype(np.uint8), np.ones((5, 5), np.uint8)).astype(np.float32)
    sigma = 0.03 * max(lab.shape[:2])
    total = np.zeros(lab.shape, np.float64)
    weight = np.zeros(lab.shape[:2], np.float64)
    for wide, trust in ((sigma, 1.0), (4.0 * sigma, 1e-3), (16.0 * sigma, 1e-6)):
        soft = blurred(lab * sure[..., None], wide)
        total += trust * soft
        weight += trust * blurred(sure, wide)
    return np.asarray(total / np.maximum(weight, 1e-12)[..., None], np.float32)


def blurred(values: Floats, sigma: float) -> Floats:
    """Return a wide blur, reckoned on a smaller picture."""
    small = max(1.0, sigma / 4.0)
    height, width = values.shape[:2]
    size = (max(1, round(width / small)), max(1, round(height / small)))
    less = cv2.resize(values, size, interpolation=cv2.INTER_AREA)
    soft = cv2.GaussianBlur(less, (0, 0), sigma / small)
    return np.asarray(cv2.resize(soft, (width, height), interpolation=cv2.INTER_LINEAR), np.float32)


def _sharp(off: Floats, dark: Mask, bright: Mask, lab: Floats) -> Mask:
    """Return the dark patches that have sharp rims against the ground: things, not shadows."""
    steep = np.hypot(
        cv2.Sobel(lab[..., 0], cv2.CV_32F, 1, 0, scale=0.125),
        cv2.Sobel(lab[..., 0], cv2.CV_32F, 0, 1, scale=0.125),
    )
    steep = cv2.dilate(steep, np.ones((3, 3), np.uint8))
    count, labels = cv2.connectedComponents(dark.astype(np.uint8), connectivity=8)
    rim = dark & (cv2.erode(dark.astype(np.uint8), np.ones((3, 3), np.uint8)) == 0)
    rim &= cv2.dilate(bright.astype(np.uint8), np.ones((9, 9), np.uint8)) == 0
    total = np.bincount(labels[rim], minlength=count)
    inside = np.bincount(labels[dark], weights=off[dark], minlength=count)
    depth = inside / np.maximum(np.bincount(labels[dark], minlength=count), 1)
    sharp = np.bincount(
        labels[rim], weights=steep[rim] > 0.12 * depth[labels[rim]], minlength=count
    )
    keep = sharp > _SHARP * np.maximum(total, 1)
    keep[0] = False
    return np.asarray(keep[labels], bool)


def _marked(off: Floats, mask: Mask) -> Mask:
    """Return things without what is far less unlike the ground than they are: shadows at them."""
    count, labels = cv2.connectedComponents(mask.astype(np.uint8), connectivity=8)
    total = np.bincount(labels.ravel(), weights=off.ravel(), minlength=count)
    usual = total / np.maximum(np.bincount(labels.ravel(), minlength=count), 1)
    return np.asarray(mask & (off > _FAR * usual[labels]), bool)


def _tidy(mask: Mask) -> Mask:
    """Take away specks and threads of one pixel, and close such gaps."""
    kernel = np.ones((3, 3), np.uint8)
    opened = cv2.morphologyEx(mask.astype(np.uint8), cv2.MORPH_OPEN, kernel)
    return np.asarray(cv2.morphologyEx(opened, cv2.MORPH_CLOSE, kernel) > 0, bool)
