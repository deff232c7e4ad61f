"""How high letters are."""

from __future__ import annotations

from typing import Final

__all__ = ["CAPITALS"]

CAPITALS: Final = 0.729
"""Height of capitals as a share of the font's size, in the font that we draw with.

Which one a pattern file's texts were drawn in is seldom known; others are about so (0.718 in
Helvetica.afm).
"""
