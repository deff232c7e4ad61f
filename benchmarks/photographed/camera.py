"""A pinhole camera with a lens that bends lines, over a floor: OpenCV's own model, the other way.

Where a point of the floor is seen is what ``cv2.projectPoints`` says; a picture asks the other way
round for every pixel, by ``cv2.undistortPoints`` and the ray to the floor.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import cv2
import numpy as np
from numpy.typing import NDArray

__all__ = ["Camera", "photograph"]

Array = NDArray[np.float64]
Picture = NDArray[np.uint8]

Floor = Callable[[Array, Array], Array]
"""Colours (…×3, 0…255, RGB) of points of the floor, x to the right and y upwards (mm)."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Camera:
    """A camera of `size` pixels (width, height) that looks at a point of the floor (mm).

    `height`: of the lens over the floor (mm). `back`, `aside`: how far it stands behind and beside
    what it looks at (mm). `roll`: degrees that it is held askew. `focal`: of its focal length to
    the picture's width. `bend`: radial coefficients k1, k2 of its lens.
    """

    size: tuple[int, int]
    at: tuple[float, float]
    height: float
    back: float = 0.0
    aside: float = 0.0
    roll: float = 0.0
    focal: float = 0.8
    bend: tuple[float, float] = (0.0, 0.0)

    @property
    def matrix(self) -> Array:
        """Its intrinsic matrix."""
        wide, high = self.size
        f = self.focal * wide
        return np.array([[f, 0.0, 0.5 * (wide - 1)], [0.0, f, 0.5 * (high - 1)], [0.0, 0.0, 1.0]])

    @property
    def lens(self) -> Array:
        """Its distortion as OpenCV has it: k1, k2, p1, p2."""
        return np.array([*self.bend, 0.0, 0.0])

    @property
    def pose(self) -> tuple[Array, Array]:
        """Rotation and translation from the floor (mm, z up) to the camera (x right, y down)."""
        eye = np.array([self.at[0] + self.aside, self.at[1] - self.back, self.height])
        ahead = np.array([*self.at, 0.0]) - eye
        ahead /= np.linalg.norm(ahead)
        turn = np.radians(self.roll)
        up = np.array([np.sin(turn), np.cos(turn), 0.0])
        right = np.cross(ahead, up)
        right /= np.linalg.norm(right)
        axes = np.stack([right, np.cross(ahead, right), ahead])
        return axes, -axes @ eye

    def seen(self, points: Array) -> Array:
        """Return where points of the floor (n×2, mm) are in the picture (n×2, pixels)."""
        axes, shift = self.pose
        raised = np.column_stack([points, np.zeros(len(points))])
        found, _ = cv2.projectPoints(raised, cv2.Rodrigues(axes)[0], shift, self.matrix, self.lens)
        return np.asarray(found, dtype=np.float64).reshape(-1, 2)

    def floor(self, pixels: Array) -> Array:
        """Return what points of the floor (n×2, mm) pixels (n×2) show."""
        axes, shift = self.pose
        rays = cv2.undistortPoints(pixels.reshape(-1, 1, 2), self.matrix, self.lens).reshape(-1, 2)
        eye = -axes.T @ shift
        ways = np.column_stack([rays, np.ones(len(rays))]) @ axes
        return np.asarray(eye[:2] - ways[:, :2] * (eye[2] / ways[:, 2:]), dtype=np.float64)


def photograph(
    camera: Camera,
    floor: Floor,
    *,
    noise: float = 0.0,
    shade: float = 0.0,
    seed: int = 1,
    finer: int = 2,
) -> Picture:
    """Return the picture (h×w×3, RGB) that a camera takes of a floor.

    `noise`: standard deviation of each pixel (of 255). `shade`: share by which the light falls
    from one corner to the other. `finer`: rays across and down each pixel.
    """
    wide, high = camera.size
    picture = np.empty((high, wide, 3), dtype=np.uint8)
    random = np.random.default_rng(seed)
    rows = 64
    for top in range(0, high, rows):
        low = min(top + rows, high)
        x = (np.arange(wide * finer) + 0.5) / finer - 0.5
        y = (np.arange((low - top) * finer) + 0.5) / finer - 0.5 + top
        grid = np.stack(np.meshgrid(x, y), axis=-1).reshape(-1, 2)
        at = camera.floor(grid)
        seen = np.asarray(floor(at[:, 0], at[:, 1]), dtype=np.float64)
        fine = seen.reshape(low - top, finer, wide, finer, 3).mean(axis=(1, 3))
        down = np.linspace(top / high, low / high, low - top)[:, None]
        light = 1.0 - shade * 0.5 * (np.linspace(0.0, 1.0, wide)[None] + down)
        lit = fine * light[..., None] + random.normal(0.0, noise or 1e-9, fine.shape)
        picture[top:low] = np.clip(np.rint(lit), 0, 255)
    return picture
