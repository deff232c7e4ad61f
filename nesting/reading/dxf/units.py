"""What the header of a DXF file says about its unit."""

from __future__ import annotations

from nesting.reading.dxf.tags import Document
from nesting.reading.unit.scale import FILE_UNITS, Claim

__all__ = ["dxf_claims"]

INSUNITS = {
    1: "in",
    2: "ft",
    4: "mm",
    5: "cm",
    6: "m",
    9: "mil",
    10: "yd",
    13: "um",
    14: "dm",
}
"""Codes of $INSUNITS (DXF reference, HEADER section); 0 says nothing."""


def dxf_claims(document: Document) -> list[Claim]:
    """Return what $INSUNITS and $MEASUREMENT say, the former first."""
    claims = []
    code = document.header_number("$INSUNITS")
    if code is not None and (unit := INSUNITS.get(int(code))):
        why = f"the file's header says $INSUNITS = {int(code)}"
        claims.append(Claim(factor=FILE_UNITS[unit], unit=unit, why=why))
    measurement = document.header_number("$MEASUREMENT")
    if measurement in (0.0, 1.0):
        unit = "mm" if measurement else "in"
        why = f"the file's header says $MEASUREMENT = {int(measurement)}"
        also = ("cm",) if measurement else ()  # it says metric or not, no more
        claims.append(Claim(factor=FILE_UNITS[unit], unit=unit, why=why, also=also))
    return claims
