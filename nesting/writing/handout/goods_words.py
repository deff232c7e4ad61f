"""How goods are laid, in a sentence: what a length holds besides the pieces."""

from __future__ import annotations

from nesting.amounts import Amounts
from nesting.material.material import Material
from nesting.names import listed
from nesting.writing.handout.words import both_fine, share

__all__ = ["goods_words"]


def goods_words(material: Material, amounts: Amounts) -> str:
    """Return a sentence; nothing where there is nothing to say."""
    said = ["folded lengthwise"] if material.folded else []
    if material.spacing:
        said.append(f"{both_fine(material.spacing, amounts)} between pieces")
    if material.widths:
        edge = (material.widths[0].booked - material.widths[0].usable) / 2.0
        said.append(f"{both_fine(edge, amounts)} of selvedge left out on each side" if edge else "")
    if material.ends:
        said.append(f"{both_fine(material.ends, amounts)} at each end")
    if along := material.shrinkage.along:
        larger = material.shrinkage.cut_larger
        how = "pieces are cut larger" if larger else "to be washed before it is cut"
        said.append(f"{share(along)} of shrinkage along ({how})")
    if material.print is not None:
        said.append("motifs and repeats of its print met")
    words = [word for word in said if word]
    return f"Laid so: {listed(words)}." if words else ""
