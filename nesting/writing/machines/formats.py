"""The formats that cutting machines read."""

from __future__ import annotations

from enum import StrEnum

__all__ = ["Format"]


class Format(StrEnum):
    """What a machine reads."""

    DXF_R12 = "dxf-r12"
    DXF = "dxf"
    SVG = "svg"
    HPGL = "hpgl"

    @property
    def suffix(self) -> str:
        """The ending of a file name."""
        return {"svg": ".svg", "hpgl": ".plt"}.get(self.value, ".dxf")
