"""What runs in a process of its own: a PDF's strokes and texts, told as plain JSON.

It is run by its file name and imports nothing of ours. Hostile files can make any reader
loop, eat memory or crash; here that costs this process and nothing else. Limits come as the
only argument, the file on standard input, the answer goes to standard output.
"""

from __future__ import annotations

import ctypes
import json
import sys
from typing import Any

__all__: list[str] = []

_DEEPEST = 24
"""Forms within forms."""
_LETTERS = 400
"""Letters of one text that are read."""
_STEPS = 12
"""Chords for a curve of a clip."""

Matrix = tuple[float, float, float, float, float, float]
_SAME: Matrix = (1.0, 0.0, 0.0, 1.0, 0.0, 0.0)


class TooMuchError(Exception):
    """The file draws more than is read."""


def _after(outer: Matrix, inner: Matrix) -> Matrix:
    """Return the map that does `inner`, then `outer`, both as PDF writes them."""
    a, b, c, d, e, f = inner
    p, q, r, s, t, u = outer
    return (
        *(a * p + b * r, a * q + b * s, c * p + d * r, c * q + d * s),
        *(e * p + f * r + t, e * q + f * s + u),
    )


def _at(by: Matrix, x: float, y: float) -> tuple[float, float]:
    a, b, c, d, e, f = by
    return (round(a * x + c * y + e, 5), round(b * x + d * y + f, 5))


class _Reader:
    """One page after the other, as far as the limits go."""

    def __init__(self, raw: Any, limits: dict[str, Any], hidden: set[str]) -> None:
        self._raw = raw
        self._hidden = hidden
        self._left = limits["things"]
        self._points = limits["points"]

    def page(self, page: Any) -> dict[str, Any]:
        raw = self._raw
        self._paths: list[dict[str, Any]] = []
        self._texts: list[dict[str, Any]] = []
        self._clips: dict[tuple[Any, ...], int] = {}
        self._pictures = self._unseen = 0
        self._text_page = raw.FPDFText_LoadPage(page.raw)
        for i in range(raw.FPDFPage_CountObjects(page.raw)):
            self._object(raw.FPDFPage_GetObject(page.raw, i), _SAME, (), "", 0)
        raw.FPDFText_ClosePage(self._text_page)
        return {
            "box": page.get_cropbox(),
            "turned": page.get_rotation(),
            "paths": self._paths,
            "texts": self._texts,
            "clips": [list(clip) for clip in self._clips],
            "pictures": self._pictures,
            "unseen": self._unseen,
        }

    def _object(self, one: Any, by: Matrix, clips: tuple[int, ...], layer: str, depth: int) -> None:
        raw = self._raw
        self._left -= 1
        if self._left < 0 or depth > _DEEPEST:
            raise TooMuchError
        kind = raw.FPDFPageObj_GetType(one)
        layer = self._layer(one) or layer
        if layer in self._hidden:
            self._unseen += 1
            return
        clips = (*clips, *self._clipped(one, by))
        got = raw.FS_MATRIX()
        own = _SAME
        if raw.FPDFPageObj_GetMatrix(one, got):
            own = (got.a, got.b, got.c, got.d, got.e, got.f)
        inside = _after(by, own)
        if kind == raw.FPDF_PAGEOBJ_FORM:
            for i in range(raw.FPDFFormObj_CountObjects(one)):
                self._object(raw.FPDFFormObj_GetObject(one, i), inside, clips, layer, depth + 1)
        elif kind == raw.FPDF_PAGEOBJ_PATH:
            self._path(one, inside, clips, layer)
        elif kind == raw.FPDF_PAGEOBJ_TEXT:
            self._text(one, inside, by, clips, layer)
        elif kind in (raw.FPDF_PAGEOBJ_IMAGE, raw.FPDF_PAGEOBJ_SHADING):
            self._pictures += 1

    def _layer(self, one: Any) -> str:
        """Return the name of the optional content (ISO 32000-1, 8.11) that an object is of."""
        raw = self._raw
        for i in range(raw.FPDFPageObj_CountMarks(one)):
            mark = raw.FPDFPageObj_GetMark(one, i)
            if self._said(raw.FPDFPageObjMark_GetName, mark) != "OC":
                continue
            name = self._said(raw.FPDFPageObjMark_GetParamStringValue, mark, b"Name")
            if name:
                return name
        return ""

    @staticmethod
    def _said(ask: Any, mark: Any, *more: Any) -> str:
        size = ctypes.c_ulong()
        buffer = (ctypes.c_ushort * 256)()
        if not ask(mark, *more, buffer, ctypes.sizeof(buffer), size) or size.value < 2:
            return ""
        return bytes(buffer)[: min(size.value, 512) - 2].decode("utf-16-le", "replace")

    def _clipped(self, one: Any, by: Matrix) -> list[int]:
        """Return the numbers of the clips that an object is seen through."""
        raw = self._raw
        clip = raw.FPDFPageObj_GetClipPath(one)
        found = []
        for i in range(max(0, raw.FPDFClipPath_CountPaths(clip)) if clip else 0):
            count = raw.FPDFClipPath_CountPathSegments(clip, i)
            steps = self._steps(count, lambda k, i=i: raw.FPDFClipPath_GetPathSegment(clip, i, k))
            ring: list[tuple[float, float]] = []
            rings = [ring]
            for step in steps:
                if step[0] == "M" and ring:
                    rings.append(ring := [])
                if step[0] == "C" and ring:
                    ring += _chords(ring[-1], step[1:])
                elif step[0] != "Z":
                    ring.append((step[1], step[2]))
            key = tuple(tuple(_at(by, *point) for point in ring) for ring in rings)
            found.append(self._clips.setdefault(key, len(self._clips)))
        return found

    def _steps(self, count: int, segment: Any) -> list[tuple[Any, ...]]:
        """Return what a path does, step by step: M, L, C and Z with their points."""
        raw = self._raw
        self._points -= max(count, 0)
        if self._points < 0:
            raise TooMuchError
        out: list[tuple[Any, ...]] = []
        curve: list[float] = []
        x, y = ctypes.c_float(), ctypes.c_float()
        for k in range(count):
            one = segment(k)
            raw.FPDFPathSegment_GetPoint(one, x, y)
            kind = raw.FPDFPathSegment_GetType(one)
            if kind == raw.FPDF_SEGMENT_MOVETO:
                out.append(("M", x.value, y.value))
            elif kind == raw.FPDF_SEGMENT_LINETO:
                out.append(("L", x.value, y.value))
            elif kind == raw.FPDF_SEGMENT_BEZIERTO:
                curve += [x.value, y.value]
                if len(curve) == 6:
                    out.append(("C", *curve))
                    curve = []
            if raw.FPDFPathSegment_GetClose(one):
                out.append(("Z",))
        return out

    def _path(self, one: Any, by: Matrix, clips: tuple[int, ...], layer: str) -> None:
        raw = self._raw
        fill, stroke = ctypes.c_int(), ctypes.c_int()
        raw.FPDFPath_GetDrawMode(one, fill, stroke)
        lines = self._colour(raw.FPDFPageObj_GetStrokeColor, one) if stroke.value else None
        ground = self._colour(raw.FPDFPageObj_GetFillColor, one) if fill.value else None
        if lines is None and ground is None:
            self._unseen += 1
            return
        count = raw.FPDFPath_CountSegments(one)
        steps = self._steps(count, lambda k: raw.FPDFPath_GetPathSegment(one, k))
        points = [
            [s[0], *(v for k in range(1, len(s), 2) for v in _at(by, s[k], s[k + 1]))]
            for s in steps
        ]
        grown = abs(by[0] * by[3] - by[1] * by[2]) ** 0.5
        width = ctypes.c_float()
        raw.FPDFPageObj_GetStrokeWidth(one, width)
        dashes = (ctypes.c_float * 16)()
        number = raw.FPDFPageObj_GetDashCount(one)
        if 0 < number <= 16:
            raw.FPDFPageObj_GetDashArray(one, dashes, number)
        self._paths.append(
            {
                "d": points,
                "stroke": lines,
                "fill": ground,
                "width": width.value * grown,
                "dash": [round(v * grown, 3) for v in dashes[: min(max(number, 0), 16)]],
                "layer": layer,
                "clips": clips,
            }
        )

    @staticmethod
    def _colour(ask: Any, one: Any) -> str | None:
        """Return a colour as "#rrggbb"; None of one that isn't seen."""
        red, green, blue, alpha = (ctypes.c_uint() for _ in range(4))
        if not ask(one, red, green, blue, alpha):
            return "#000000"
        if alpha.value == 0:
            return None
        return f"#{red.value:02x}{green.value:02x}{blue.value:02x}"

    def _text(
        self, one: Any, own: Matrix, around: Matrix, clips: tuple[int, ...], layer: str
    ) -> None:
        raw = self._raw
        size = raw.FPDFTextObj_GetText(one, self._text_page, None, 0)
        buffer = (ctypes.c_ushort * (size // 2 + 1))()
        raw.FPDFTextObj_GetText(one, self._text_page, buffer, size)
        text = bytes(buffer)[: max(size - 2, 0)].decode("utf-16-le", "replace")[:_LETTERS]
        font = ctypes.c_float()
        raw.FPDFTextObj_GetFontSize(one, font)
        left, low, right, high = (ctypes.c_float() for _ in range(4))
        raw.FPDFPageObj_GetBounds(one, left, low, right, high)
        corners = [_at(around, x.value, y.value) for x in (left, right) for y in (low, high)]
        if text.strip():
            height = font.value * (own[2] ** 2 + own[3] ** 2) ** 0.5
            self._texts.append(
                {
                    "text": text,
                    "at": _at(own, 0.0, 0.0),
                    "way": (own[0], own[1]),
                    "size": height,
                    "corners": corners,
                    "layer": layer,
                    "clips": clips,
                }
            )


def _chords(start: tuple[float, float], curve: tuple[float, ...]) -> list[tuple[float, float]]:
    x, y = start
    a, b, c, d, e, f = curve
    out = []
    for i in range(1, _STEPS + 1):
        t = i / _STEPS
        u = 1.0 - t
        w = (u * u * u, 3 * u * u * t, 3 * u * t * t, t * t * t)
        out.append(
            (w[0] * x + w[1] * a + w[2] * c + w[3] * e, w[0] * y + w[1] * b + w[2] * d + w[3] * f)
        )
    return out


def _extras(data: bytes, pages: list[int]) -> tuple[set[str], dict[int, float]]:
    """Return the layers that are switched off, and user units of pages, which PDFium keeps back.

    ISO 32000-1, 8.11.4.3 (OFF, BaseState) and 14.11.2 (UserUnit).
    """
    from io import BytesIO

    from pypdf import PdfReader

    hidden: set[str] = set()
    units: dict[int, float] = {}
    try:
        reader = PdfReader(BytesIO(data))
        for i in pages:
            unit = float(reader.pages[i].get("/UserUnit", 1.0))
            if unit != 1.0:
                units[i] = unit
        root: Any = reader.trailer["/Root"]
        layers = root.get("/OCProperties")
        if layers is not None:
            layers = layers.get_object()
            usual = layers["/D"].get_object()
            off = usual.get("/OFF", [])
            if usual.get("/BaseState") == "/OFF":
                shown = [one.get_object() for one in usual.get("/ON", [])]
                off = [one for one in layers["/OCGs"] if one.get_object() not in shown]
            hidden = {str(one.get_object()["/Name"]) for one in off}
    except Exception:  # whatever is odd about a file that PDFium reads
        return hidden, units
    return hidden, units


def _bounded(limits: dict[str, Any]) -> None:
    """Bound this process, where the system can."""
    try:
        import resource
    except ImportError:
        return
    for kind, most in (
        (resource.RLIMIT_AS, limits["memory"]),
        (resource.RLIMIT_CPU, limits["cpu"]),
    ):
        resource.setrlimit(kind, (most, most))
    resource.setrlimit(resource.RLIMIT_CORE, (0, 0))


def _answer(data: bytes, limits: dict[str, Any]) -> dict[str, Any]:
    import pypdfium2
    import pypdfium2.raw as raw

    try:
        document = pypdfium2.PdfDocument(data)
        count = len(document)
    except pypdfium2.PdfiumError as trouble:
        locked = "password" in str(trouble).lower()
        return {"error": "locked" if locked else "broken"}
    wanted = [i - 1 for i in limits["wanted"] or range(1, count + 1)]
    if any(i >= count for i in wanted):
        return {"error": "page", "pages": count}
    if len(wanted) > limits["pages"]:
        return {"error": "pages", "pages": count}
    hidden, units = _extras(data, wanted)
    reader = _Reader(raw, limits, hidden)
    pages = []
    for i in wanted:
        try:
            page = {"number": i + 1, **reader.page(document[i])}
        except TooMuchError:
            return {"error": "much", "page": i + 1}
        except pypdfium2.PdfiumError:
            return {"error": "page broken", "page": i + 1}
        pages.append({**page, "unit": units.get(i, 1.0)})
    return {"pages": pages, "count": count, "hidden": sorted(hidden)}


def _main() -> None:
    limits = json.loads(sys.argv[1])
    data = sys.stdin.buffer.read()
    _bounded(limits)
    try:
        answer = _answer(data, limits)
    except MemoryError:
        answer = {"error": "memory"}
    json.dump(answer, sys.stdout, separators=(",", ":"))


if __name__ == "__main__":
    _main()
