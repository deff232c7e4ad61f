"""What runs in a process of its own: a page of a PDF that is a picture, as PNG.

It is run by its file name and imports nothing of ours, as `child.py`. Limits come as the only
argument, the file on standard input; the answer is a line of JSON, and behind it the picture.
"""

from __future__ import annotations

import ctypes
import io
import json
import math
import sys
from typing import Any

__all__: list[str] = []

_LEAST, _MOST = 72.0, 600.0
"""Pixels per inch within which a page is taken."""
_USUAL = 200.0
"""The same where the page's pictures don't tell theirs."""


def _resolution(raw: Any, page: Any) -> float | None:
    """Return the pixels per inch of a page's finest picture, None if it has no picture."""
    best = None
    for i in range(min(raw.FPDFPage_CountObjects(page.raw), 2000)):
        one = raw.FPDFPage_GetObject(page.raw, i)
        kind = raw.FPDFPageObj_GetType(one)
        if kind == raw.FPDF_PAGEOBJ_FORM:
            best = best or _USUAL
        if kind != raw.FPDF_PAGEOBJ_IMAGE:
            continue
        matrix, width, height = raw.FS_MATRIX(), ctypes.c_uint(), ctypes.c_uint()
        raw.FPDFPageObj_GetMatrix(one, matrix)
        raw.FPDFImageObj_GetImagePixelSize(one, width, height)
        inches = math.hypot(matrix.a, matrix.b) / 72.0
        dpi = width.value / inches if inches > 0.05 and width.value else _USUAL
        best = dpi if best is None else max(best, dpi)
    return best


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


def _answer(data: bytes, limits: dict[str, Any]) -> tuple[dict[str, Any], bytes]:
    import pypdfium2
    import pypdfium2.raw as raw

    document = pypdfium2.PdfDocument(data)
    wanted = [i - 1 for i in limits["wanted"]] or list(range(min(len(document), limits["pages"])))
    found = [(i, dpi) for i in wanted if (dpi := _resolution(raw, document[i])) is not None]
    if len(found) != 1:
        return {"error": "which", "found": [i + 1 for i, _ in found]}, b""
    number, dpi = found[0]
    page = document[number]
    inches = page.get_width() * page.get_height() / 72.0**2
    most = math.sqrt(0.98 * limits["pixels"] / max(inches, 1e-6))
    dpi = min(max(dpi, _LEAST), _MOST, most)
    out = io.BytesIO()
    page.render(scale=dpi / 72.0).to_pil().convert("RGB").save(out, "PNG", dpi=(dpi, dpi))
    return {"page": number + 1, "dpi": dpi}, out.getvalue()


def _main() -> None:
    limits = json.loads(sys.argv[1])
    data = sys.stdin.buffer.read()
    _bounded(limits)
    try:
        answer, picture = _answer(data, limits)
    except MemoryError:
        answer, picture = {"error": "memory"}, b""
    sys.stdout.buffer.write(json.dumps(answer).encode() + b"\n" + picture)


if __name__ == "__main__":
    _main()
