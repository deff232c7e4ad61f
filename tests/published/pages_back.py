"""Pages of a print read back by a PDF library, and put together by their join marks.

PDF units of 1/72 in: ISO 32000-1.
"""

import math

from pypdf import PdfReader
from pypdf.generic import ContentStream

from nesting.pattern.path import Arc, Bezier, Line, Path
from nesting.writing.neutral.drawing import Drawing, Hole, Label, Operation, Stroke

MM = 25.4 / 72.0


def rect(x, y, w, h):
    return Path.polyline([(x, y), (x + w, y), (x + w, y + h), (x, y + h)], closed=True)


def drawing(*paths, **more):
    strokes = tuple(
        Stroke(operation=Operation.CUT, path=path, part=i) for i, path in enumerate(paths)
    )
    xs, ys = zip(*(p for path in paths for p in path.points(0.01)), strict=True)
    given = {"name": "invented", "length": max(xs), "width": max(ys), "strokes": strokes}
    return Drawing(**(given | more))


BAG = Path(
    (
        Line((3, 1 / 3), (400, 0)),
        Bezier((400, 0), (480, 150), (380, 300), (450, 420)),
        Line((450, 420), (200, 415)),
        Arc((100, 415), (100, 0), (0, 100), 0.0, -math.pi),
        Line((0, 415), (3, 1 / 3)),
    )
)

BIG = drawing(
    BAG,
    rect(480, 60, 20 + 1 / 7, 700),
    length=510.0,
    width=760.0,
    labels=(Label(text="Zażółć gęślą", at=(200, 200), height=8.0, angle=30.0),),
    holes=(Hole(at=(300, 100), diameter=4.0), Hole(at=(320, 100), diameter=0.0)),
)


class Page:
    """One page: its size and what is drawn on it, in mm on the page."""

    def __init__(self, page, reader):
        self.size = tuple(float(v) * MM for v in page.mediabox[2:])
        self.paths, self.clips = [], []
        self.text = []
        names = {
            key[1:]: group.get_object()["/Name"]
            for key, group in page["/Resources"].get("/Properties", {}).items()
        }
        self._read(page, reader, names)
        page.extract_text(visitor_text=self._write)

    def _write(self, text, matrix, text_matrix, font, size):
        if text.strip():
            e, f = text_matrix[4:]
            x = e * matrix[0] + f * matrix[2] + matrix[4]
            y = e * matrix[1] + f * matrix[3] + matrix[5]
            self.text.append((text.strip(), (x * MM, y * MM)))

    def _read(self, page, reader, names):
        matrix, stack, points, layer = (1, 0, 0, 1, 0, 0), [], [], ""

        def at(x, y):
            a, b, c, d, e, f = matrix
            return ((a * x + c * y + e) * MM, (b * x + d * y + f) * MM)

        for operands, operator in ContentStream(page.get_contents(), reader).operations:
            numbers = (
                [float(v) for v in operands if not isinstance(v, (str, list))]
                if (operator in (b"cm", b"m", b"l", b"c", b"re"))
                else []
            )
            if operator == b"q":
                stack.append(matrix)
            elif operator == b"Q":
                matrix = stack.pop()
            elif operator == b"cm":
                a, b, c, d, e, f = numbers
                m = matrix
                matrix = (
                    a * m[0] + b * m[2],
                    a * m[1] + b * m[3],
                    c * m[0] + d * m[2],
                    c * m[1] + d * m[3],
                    e * m[0] + f * m[2] + m[4],
                    e * m[1] + f * m[3] + m[5],
                )
            elif operator == b"re":
                x, y, w, h = numbers
                self.clips.append((*at(x, y), *at(x + w, y + h)))
            elif operator == b"m":
                points = [at(*numbers)]
            elif operator == b"l":
                points.append(at(*numbers))
            elif operator == b"c":
                p = (points[-1], at(*numbers[:2]), at(*numbers[2:4]), at(*numbers[4:]))
                for k in range(1, 21):
                    t, u = k / 20, 1 - k / 20
                    w = (u**3, 3 * u * u * t, 3 * u * t * t, t**3)
                    points.append(tuple(sum(w[j] * p[j][m] for j in range(4)) for m in (0, 1)))
            elif operator in (b"s", b"S"):
                self.paths.append((layer, points + ([points[0]] if operator == b"s" else [])))
            elif operator == b"BDC":
                layer = names[operands[1][1:]]
            elif operator == b"EMC":
                layer = ""


def read(file):
    reader = PdfReader(file)
    return reader, [Page(page, reader) for page in reader.pages]


def lozenges(page):
    """Return the join marks of a page: (first name, second name, number of the two) → middle."""
    found = {}
    for layer, points in page.paths:
        if layer or len(points) != 5:
            continue
        xs, ys = zip(*points[:4], strict=True)
        w, h = max(xs) - min(xs), max(ys) - min(ys)
        if abs(w - 12.0) > 1e-3 or min(abs(h - 8.0), abs(h - 12.0)) > 1e-3:
            continue
        middle = ((max(xs) + min(xs)) / 2, (max(ys) + min(ys)) / 2)
        upright = h < 10.0
        names = sorted(
            (
                (x if upright else -y, text)
                for text, (x, y) in page.text
                if abs(x - middle[0]) < 5 and abs(y - middle[1]) < 4
            ),
        )
        names = tuple(text for _, text in names)
        found.setdefault(names, []).append(middle)
    return {
        (*names, k): middle
        for names, middles in found.items()
        for k, middle in enumerate(sorted(middles))
    }


def assembled(pages):
    """Lay sheets together mark on mark; return for each page how far it is moved."""
    marks = [lozenges(page) for page in pages]
    moves, open_ = {0: (0.0, 0.0)}, [0]
    while open_:
        i = open_.pop()
        for j, other in enumerate(marks):
            shared = marks[i].keys() & other.keys()
            if not shared or j == i:
                continue
            assert len(shared) == 2
            steps = [
                tuple(moves[i][k] + marks[i][key][k] - other[key][k] for k in (0, 1))
                for key in shared
            ]
            assert math.dist(*steps) < 1e-6
            if j in moves:
                assert math.dist(moves[j], steps[0]) < 1e-5
            else:
                moves[j] = steps[0]
                open_.append(j)
    return moves


def is_the_line(path, points):
    """Whether points read from a page are a path's, to a millionth of a mm."""
    if math.dist(points[0], path.start) > 1e-6:
        return False
    at = 1
    for segment in path.segments:
        n = 1 if isinstance(segment, Line) else 20
        if isinstance(segment, Arc):
            n *= math.ceil(abs(segment.sweep) / (math.pi / 16) - 1e-9)
        read = points[at : at + n]
        at += n
        if len(read) < n or math.dist(read[-1], segment.end) > 1e-6:
            return False
        if isinstance(segment, Bezier):
            true = [segment.at(k / n) for k in range(1, n + 1)]
            if max(math.dist(p, q) for p, q in zip(read, true, strict=True)) > 1e-6:
                return False
        if isinstance(segment, Arc):
            off = [abs(math.dist(p, segment.centre) - segment.radius) for p in read]
            if max(off) > 1e-6:
                return False
    return True
