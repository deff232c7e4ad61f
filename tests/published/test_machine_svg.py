"""SVG for machines read back by a reader written here from the standard.

SVG 2, chapter 9, and appendix B.2.4 (arc implementation notes).
"""

import math
import re
from itertools import pairwise
from xml.etree import ElementTree

import pytest
from shapely import Polygon

from nesting.writing.machines.formats import Format
from nesting.writing.neutral.drawing import Operation
from tests.published.machine_files import expected, machine, marker, write

NUMBER = r"[-+]?(?:\d+\.?\d*|\.\d+)(?:[eE][-+]?\d+)?"


def svg_arc(p, rx, ry, tilt, large, sweep, q):
    """Return points of an arc (SVG 2, appendix B.2.4), fine enough for 1e-7 mm."""
    phi = math.radians(tilt)
    c, s = math.cos(phi), math.sin(phi)
    dx, dy = (p[0] - q[0]) / 2, (p[1] - q[1]) / 2
    x1, y1 = c * dx + s * dy, c * dy - s * dx
    grow = math.sqrt(max(1.0, (x1 / rx) ** 2 + (y1 / ry) ** 2))
    rx, ry = rx * grow, ry * grow
    under = (rx * ry) ** 2 - (rx * y1) ** 2 - (ry * x1) ** 2
    k = math.sqrt(max(0.0, under / ((rx * y1) ** 2 + (ry * x1) ** 2)))
    k = -k if large == sweep else k
    cx1, cy1 = k * rx * y1 / ry, -k * ry * x1 / rx
    cx, cy = c * cx1 - s * cy1 + (p[0] + q[0]) / 2, s * cx1 + c * cy1 + (p[1] + q[1]) / 2
    a = math.atan2((y1 - cy1) / ry, (x1 - cx1) / rx)
    b = math.atan2((-y1 - cy1) / ry, (-x1 - cx1) / rx)
    turn = (b - a) % math.tau if sweep else -((a - b) % math.tau)
    n = 2000
    for i in range(1, n + 1):
        t = a + turn * i / n
        x, y = rx * math.cos(t), ry * math.sin(t)
        yield (c * x - s * y + cx, s * x + c * y + cy)


def svg_points(d):
    """Return the points of one subpath (commands M L C A Z, absolute)."""
    words = re.findall(rf"[A-Za-z]|{NUMBER}", d)
    points, i = [], 0
    while i < len(words):
        command, i = words[i], i + 1
        many = {"M": 2, "L": 2, "C": 6, "A": 7, "Z": 0}[command]
        a = [float(w) for w in words[i : i + many]]
        i += many
        if command in "ML":
            points.append((a[0], a[1]))
        elif command == "C":
            p, n = (points[-1], (a[0], a[1]), (a[2], a[3]), (a[4], a[5])), 2000
            for k in range(1, n + 1):
                t, u = k / n, 1 - k / n
                w = (u**3, 3 * u * u * t, 3 * u * t * t, t**3)
                points.append(tuple(sum(w[j] * p[j][m] for j in range(4)) for m in (0, 1)))
        elif command == "A":
            points += svg_arc(points[-1], a[0], a[1], a[2], a[3], a[4], (a[5], a[6]))
    return points, "Z" in words


def svg_root(file):
    return ElementTree.parse(file).getroot()


def svg_size(file):
    root = svg_root(file)
    assert root.get("width").endswith("mm")
    box = [float(v) for v in root.get("viewBox").split()]
    assert box[:2] == [0.0, 0.0]
    assert box[2:] == [float(root.get("width")[:-2]), float(root.get("height")[:-2])]
    return box[2:]


def svg_paths(file):
    """Return (group's id, stroke colour, points) of each path; closed ones repeat the first."""
    out = []
    for group in svg_root(file).iter("{http://www.w3.org/2000/svg}g"):
        for path in group.iter("{http://www.w3.org/2000/svg}path"):
            points, closed = svg_points(path.get("d"))
            if closed:
                points.append(points[0])
            out.append((group.get("id"), group.get("stroke"), points))
    return out


def test_svg_comes_back(tmp_path):
    drawing, shop = marker(), machine(Format.SVG)
    result = write(drawing, shop, tmp_path)
    (load,) = result.loads
    assert svg_size(result.files[0]) == [2000.0, 1000.0]
    paths = svg_paths(result.files[0])
    for tool in shop.tools:
        if tool.operation is Operation.TEXT:
            continue
        mine = [points for group, _, points in paths if group == tool.operation.value]
        assert {colour for g, colour, _ in paths if g == tool.operation.value} == {tool.colour}
        found = []
        for points in mine:
            size = sum(math.dist(p, q) for p, q in pairwise(points))
            closed = len(points) > 3 and points[0] == points[-1]
            found.append((size, Polygon(points).area if closed else 0.0))
        want = expected(drawing, tool.operation)
        if tool.operation is Operation.DRILL:
            want = sorted([*want, *[(0.0, 0.0)] * 6])
        # What the reader's own 2,000 chords leave: about 1e-7 of a length, 2e-6 of an area.
        assert len(found) == len(want)
        for got, true in zip(sorted(found), want, strict=True):
            assert got[0] == pytest.approx(true[0], abs=3e-5)
            assert got[1] == pytest.approx(true[1], abs=3e-3)
    order = [group for group, _, _ in paths]
    assert order == sorted(order, key=["mark", "text", "drill", "notch", "cut"].index)
    xs = [x for _, _, points in paths for x, _ in points]
    ys = [1000.0 - y for _, _, points in paths for _, y in points]
    assert (min(xs), min(ys)) == pytest.approx((5.0, 5.0), abs=1e-6)
    assert (max(xs), max(ys)) == pytest.approx((345.0, 185.0), abs=1e-6)
    assert load.place((0.0, 0.0)) == (0.0, 0.0)
    assert "part &amp; &lt;0&gt;" in result.files[0].read_text()
