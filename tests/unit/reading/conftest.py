"""DXF files put together tag by tag, so that they can be as odd as those in the wild."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from pathlib import Path

import pytest

Tags = list[object]


class Dxf:
    """Builders of entities (lists of tags) and of whole files."""

    SQUARE = ((0.0, 0.0), (400.0, 0.0), (400.0, 300.0), (0.0, 300.0))

    @staticmethod
    def poly(layer: object, points: Iterable[Sequence[float]], *, closed: bool = True) -> Tags:
        tags: Tags = [0, "POLYLINE", 8, layer, 66, 1, 70, int(closed)]
        for point in points:
            tags += [0, "VERTEX", 8, layer, 10, point[0], 20, point[1]]
            tags += [42, point[2]] if len(point) > 2 else []
        return [*tags, 0, "SEQEND", 8, layer]

    @staticmethod
    def line(layer: object, x0: float, y0: float, x1: float, y1: float) -> Tags:
        return [0, "LINE", 8, layer, 10, x0, 20, y0, 11, x1, 21, y1]

    @staticmethod
    def point(layer: object, x: float, y: float, *more: object) -> Tags:
        return [0, "POINT", 8, layer, 10, x, 20, y, *more]

    @staticmethod
    def text(
        text: str, x: float = 50.0, y: float = 50.0, *, layer: object = 1, height: float = 5.0
    ) -> Tags:
        return [0, "TEXT", 8, layer, 10, x, 20, y, 40, height, 1, text]

    @staticmethod
    def insert(block: str, *more: object, layer: object = 1) -> Tags:
        return [0, "INSERT", 8, layer, 2, block, 10, 0, 20, 0, *more]

    def soup(self, layer: object, points: Sequence[Sequence[float]]) -> Tags:
        ends = [*points[1:], points[0]]
        lines = [self.line(layer, *p, *q) for p, q in zip(points, ends, strict=True)]
        return [tag for line in lines for tag in line]

    @staticmethod
    def file(
        blocks: dict[str, Sequence[Tags]] | None = None,
        entities: Sequence[Tags] = (),
        *,
        header: Tags | None = None,
        units: str | None = "METRIC",
        insert: bool = True,
    ) -> str:
        """Return a file; `units` is a style text, `header` the HEADER section's tags."""
        tags: Tags = [0, "SECTION", 2, "HEADER", *(header or []), 0, "ENDSEC"]
        tags += [0, "SECTION", 2, "TABLES", 0, "ENDSEC", 0, "SECTION", 2, "BLOCKS"]
        for name, content in (blocks or {}).items():
            tags += [0, "BLOCK", 8, 1, 2, name, 70, 0, 10, 0, 20, 0]
            tags += [tag for entity in content for tag in entity]
            tags += [0, "ENDBLK", 8, 1]
        tags += [0, "ENDSEC", 0, "SECTION", 2, "ENTITIES"]
        if units:
            tags += Dxf.text(f"Units: {units}", -100.0, -100.0)
        tags += [tag for entity in entities for tag in entity]
        if insert:
            tags += [tag for name in blocks or {} for tag in Dxf.insert(name)]
        tags += [0, "ENDSEC", 0, "EOF"]
        return "".join(f"{tag}\n" for tag in tags)


@pytest.fixture
def dxf() -> Dxf:
    return Dxf()


@pytest.fixture
def saved(tmp_path: Path) -> Callable[..., Path]:
    """Return a function that writes a text or bytes to a file."""

    def save(content: str | bytes, name: str = "pattern.dxf") -> Path:
        path = tmp_path / name
        data = content if isinstance(content, bytes) else content.encode("utf-8")
        path.write_bytes(data)
        return path

    return save
