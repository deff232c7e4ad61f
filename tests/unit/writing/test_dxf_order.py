"""The same drawing gives the same DXF, whatever order Python gives to its sets."""

from __future__ import annotations

from nesting.writing.dxf import dxf_document, dxf_text
from nesting.writing.neutral.drawing import Drawing

EMPTY = Drawing(name="empty", length=1.0, width=1.0)


def test_classes_are_named_in_one_order() -> None:
    """Those that the library takes from a set come in another order in another process."""
    one, other = dxf_document(EMPTY), dxf_document(EMPTY)
    for name in ("LAYOUT", "ACDBPLACEHOLDER"):
        one.classes.add_class(name)
    for name in ("ACDBPLACEHOLDER", "LAYOUT"):
        other.classes.add_class(name)
    assert dxf_text(one) == dxf_text(other)
