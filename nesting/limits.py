"""How much of anything is read or planned: beyond it is a slip, or means harm.

Every limit is far above what bags need (own choice), and a refusal names it. The readers
of pattern files have further ones of their own formats beside their code.
"""

from __future__ import annotations

__all__ = [
    "FARTHEST",
    "FARTHEST_LAID",
    "LARGEST_GROUND",
    "LARGEST_HIDE",
    "LARGEST_JOB",
    "LARGEST_MACHINE",
    "LARGEST_PATTERN",
    "LARGEST_PICTURE",
    "LARGEST_PLAN",
    "LONGEST",
    "LONGEST_MESSAGE",
    "LONGEST_PDF",
    "LONGEST_TEXT",
    "MOST_CHORDS",
    "MOST_CURVES",
    "MOST_GROUND_PIXELS",
    "MOST_HOLES",
    "MOST_LAID",
    "MOST_MARKS",
    "MOST_PARTS",
    "MOST_PDF_MEMORY",
    "MOST_PDF_PAGES",
    "MOST_PDF_POINTS",
    "MOST_PDF_THINGS",
    "MOST_PIXELS",
    "MOST_SHEETS",
    "SMALLEST_REPEAT",
]

FARTHEST = 1e9
"""Largest coordinate of a curve (mm): the centre of an arc that is all but straight is far off."""

FARTHEST_LAID = 1e7
"""Farthest coordinate (mm) at which a part can lie: 10 km, on cloth that has no end."""

LARGEST_GROUND = 4_000_000
"""Bytes of a picture of goods that lies under a marker."""

LARGEST_HIDE = 1e4
"""Longest side of a hide (mm): 10 m; whole ones are 3 m or less (common practice, no source)."""

LARGEST_JOB = 32_000_000
"""Bytes of a job, stock or include file."""

LARGEST_MACHINE = 1_000_000
"""Bytes of a machine file."""

LARGEST_PATTERN = 40_000_000
"""Bytes of a pattern file."""

LARGEST_PICTURE = 200_000_000
"""Bytes of a scan or a photograph."""

LARGEST_PLAN = 200_000_000
"""Bytes of a plan."""

LONGEST = 1e6
"""Longest length (mm): 1 km, more than the longest roll."""

LONGEST_MESSAGE = 400
"""Characters of what an error says; names and values in it come from files."""

LONGEST_PDF = 60
"""Seconds of a processor that reading a PDF may take; a pattern takes one or two."""

LONGEST_TEXT = 2_000
"""Characters of a text in a pattern file; what is beyond is not read."""

MOST_CHORDS = 100_000
"""Chords that stand for the curves of one path where the judge measures."""

MOST_CURVES = 5_000
"""Arcs and Bézier curves of one path, and control points of one spline."""

MOST_MARKS = 5_000
"""Marks of one piece."""

MOST_GROUND_PIXELS = 40_000_000
"""Pixels of such a picture."""

MOST_HOLES = 2_000
"""Cut-outs of one piece."""

MOST_LAID = 10_000
"""Parts of one lay: its search holds all of them at once."""

MOST_PARTS = 200_000
"""Parts of one job."""

MOST_PDF_MEMORY = 3_000_000_000
"""Bytes that the process which reads a PDF may take."""

MOST_PDF_PAGES = 400
"""Pages of a PDF that are read."""

MOST_PDF_POINTS = 2_000_000
"""Points of all lines of a PDF."""

MOST_PDF_THINGS = 200_000
"""Lines, texts and pictures of a PDF."""

MOST_PIXELS = 80_000_000
"""Pixels of a picture: an A0 sheet at 200 dpi has 62 million."""

MOST_SHEETS = 2_000
"""Sheets of paper for one drawing."""

SMALLEST_REPEAT = 1.0
"""Shortest repeat (mm) of a print: what is finer than that is a texture."""
