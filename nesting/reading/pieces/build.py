"""An outline and what was drawn for it become a piece."""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass, replace

from nesting.errors import Finding, PatternError, Severity
from nesting.limits import MOST_HOLES, MOST_MARKS
from nesting.pattern.marks.notch import settled_notches
from nesting.pattern.measure import counter_clockwise
from nesting.pattern.outline import clean_outline
from nesting.pattern.path import Affine, Line, Path, Point
from nesting.pattern.piece import Mark, MarkKind, Piece
from nesting.pattern.polygon import polygon
from nesting.pattern.variants.fold import opened
from nesting.reading.items import Item, Role
from nesting.reading.pieces.assemble import place_of
from nesting.reading.pieces.chain import chain
from nesting.reading.pieces.grain import grain_line
from nesting.reading.pieces.lettered import places_of_text
from nesting.reading.pieces.notch import ON_SEWING_LINE, Edge, is_notch_line, notch_mark
from nesting.reading.pieces.within import Outline
from nesting.reading.unit.speech import Speech
from nesting.tolerance import TOLERANCE

__all__ = ["Built", "build"]


@dataclass(slots=True, kw_only=True)
class Built:
    """A piece, and what was learned while building it."""

    piece: Piece
    opened: bool
    up_known: bool
    turns: tuple[Point, ...]
    curves: tuple[Point, ...]
    findings: list[Finding]


def build(outline: Outline, name: str, *, close: float, say: Speech) -> Built:
    """Make a piece of an outline and its items (mm)."""
    return _Builder(outline, name, close, say).build()


class _Builder:
    """The items of one outline by role, and the findings so far."""

    def __init__(self, outline: Outline, name: str, close: float, say: Speech) -> None:
        self._say = say
        self._outline = outline
        self._name = name
        self._close = close
        self._findings: list[Finding] = []
        self._by_role: dict[Role, list[Item]] = defaultdict(list)
        for item in outline.items:
            self._by_role[item.role].append(item)

    def build(self) -> Built:
        points = len(self._by_role[Role.TURN]) + len(self._by_role[Role.CURVE])
        if len(self._outline.items) - points > MOST_MARKS:
            raise PatternError(
                f"{self._name} has more than {MOST_MARKS:,} lines and marks",
                hint="no piece has so many",
            )
        if len(self._outline.holes) > MOST_HOLES:
            raise PatternError(
                f"{self._name} has more than {MOST_HOLES:,} cut-outs", hint="no piece has so many"
            )
        cut = self._outline.cut
        if self._outline.holes and not polygon(cut, tuple(self._outline.holes)).is_valid:
            raise PatternError(
                f"{self._name}: its cut-outs overlap each other or its outline",
                hint="draw those that overlap as one",
            )
        edge = Edge(cut)
        sew = self._sew()
        lines = list(self._by_role[Role.LINE])
        notches = [*self._by_role[Role.NOTCH], *self._short_lines(lines, edge)]
        marked = [
            *self._notches(notches, edge, Edge(sew) if sew else None),
            *self._drills(),
            *self._lines(lines),
            *self._references(),
            *self._texts(),
        ]
        grain, up_known = self._grain()
        piece = Piece(
            name=self._name,
            cut=cut,
            holes=tuple(self._outline.holes),
            sew=sew,
            grain=grain,
            motif=self._crossing(),
            up_known=up_known,
        )
        piece, is_open = self._unfolded(piece, marked)
        self._checked(edge)
        return Built(
            piece=piece,
            opened=is_open,
            up_known=up_known,
            turns=self._points(Role.TURN),
            curves=self._points(Role.CURVE),
            findings=self._findings,
        )

    def _tell(
        self,
        kind: str,
        text: str,
        *,
        at: Point | None = None,
        amount: float | None = None,
        severity: Severity = Severity.NOTE,
    ) -> None:
        self._findings.append(
            Finding(
                kind=kind,
                text=f"{self._name}: {text}",
                severity=severity,
                parts=(self._name,),
                at=at,
                amount=amount,
            )
        )

    def _points(self, role: Role) -> tuple[Point, ...]:
        return tuple(item.at for item in self._by_role[role] if item.at)

    def _sew(self) -> Path | None:
        """Return the sewing line if it goes all round; shorter ones become lines to draw."""
        items = self._by_role[Role.SEW]
        if not items:
            return None
        chains = chain((item.path for item in items if item.path), close=self._close)
        rings: list[Path] = []
        for ring in chains.rings:
            try:
                rings.append(clean_outline(ring))
            except PatternError as trouble:
                self._tell("sew", f"sewing line: {trouble.what}; drawn as a line")
                chains.open.append(ring)
        rings.sort(key=lambda ring: -_box_area(ring))
        extra = [*rings[1:], *chains.open]
        self._by_role[Role.LINE] += [
            Item(role=Role.LINE, path=path, label="sewing line") for path in extra
        ]
        if not rings:
            self._tell("sew", "no sewing line goes all round; those there are drawn as lines")
            return None
        return counter_clockwise(rings[0])

    def _grain(self) -> tuple[float, bool]:
        """Return the direction of the grain line, and whether an arrowhead says which end is up."""
        paths = [i.path for i in self._by_role[Role.GRAIN] if i.path]
        if not paths:
            self._tell("grain", "no grain line; the grain is taken along x")
            return 0.0, False
        line = grain_line(paths)
        if line.several:
            self._tell("grain", "several grain lines; the longest is taken")
        if not line.up_known:
            ends = "arrowheads at both ends" if line.heads else "no arrowhead"
            self._tell(
                "up",
                f"which end is up is not known: the grain line has {ends}; "
                f"{line.direction:.4g}° is taken. Where nap or print has a direction, draw one "
                "arrowhead, or say in the job grain = …, which points up",
            )
        return line.direction, line.up_known

    def _short_lines(self, lines: list[Item], cut: Edge) -> list[Item]:
        """Take short lines square to the edge out of the lines to draw: they are notches."""
        short = [item for item in lines if item.path and is_notch_line(item.path, cut)]
        if short:
            self._tell("notch", f"{len(short)} short line(s) at the edge taken as notches")
            for item in short:
                lines.remove(item)
        return [replace(item, role=Role.NOTCH) for item in short]

    def _notches(
        self, items: Sequence[Item], cut: Edge, sew: Edge | None
    ) -> list[tuple[Mark, bool]]:
        out = []
        unsized = 0
        for item in items:
            mark, note = notch_mark(item, cut, sew, self._say)
            at = place_of(item)
            if mark is None:
                self._tell("notch", f"a notch {note}; left out", at=at, severity=Severity.FAULT)
                continue
            if note:
                self._tell("notch", f"a notch {note}", at=at)
            if note == ON_SEWING_LINE:
                seam = Piece(name=self._name, cut=cut.path, sew=sew.path if sew else None)
                (mark,) = settled_notches(replace(seam, marks=(mark,))).marks
            unsized += mark.size == 0.0
            out.append((mark, item.once))
        if unsized:
            self._tell("notch", f"{unsized} notch(es) without a depth in the file")
        return out

    def _drills(self) -> list[tuple[Mark, bool]]:
        out = []
        for item in self._by_role[Role.DRILL]:
            at, size = item.at, item.size
            if item.path is not None:
                at, size = _circle(item.path)
            if at is not None:
                mark = Mark(kind=MarkKind.DRILL, name=item.text, at=at, size=size)
                out.append((mark, item.once))
        return out

    def _lines(self, items: Sequence[Item]) -> list[tuple[Mark, bool]]:
        out = []
        for item in items:
            path = item.path
            if path is None:
                continue
            kind = MarkKind.OUTLINE if path.closed else MarkKind.LINE
            name = item.label if item.role is Role.LINE else ""
            out.append((Mark(kind=kind, name=name, path=path), item.once))
        return out

    def _references(self) -> list[tuple[Mark, bool]]:
        return [
            (Mark(kind=MarkKind.LINE, name=f"{role.value} line", path=item.path), item.once)
            for role in (Role.STRIPE, Role.PLAID)
            for item in self._by_role[role]
            if item.path
        ]

    def _texts(self) -> list[tuple[Mark, bool]]:
        drawn = sum(item.path is not None for item in self._by_role[Role.TEXT])
        if drawn:
            self._tell("text", f"{drawn} path(s) said to be text are left out")
        return [
            (
                Mark(
                    kind=MarkKind.TEXT,
                    at=places_of_text(item)[-1],
                    text=item.text,
                    size=item.size,
                    angle=item.angle,
                ),
                item.once,
            )
            for item in self._by_role[Role.TEXT]
            if item.at and item.text
        ]

    def _crossing(self) -> Point | None:
        """Return where the only stripe line and the only plaid line cross, or would."""
        stripes = [i.path for i in self._by_role[Role.STRIPE] if i.path]
        plaids = [i.path for i in self._by_role[Role.PLAID] if i.path]
        if len(stripes) != 1 or len(plaids) != 1:
            return None
        (px, py), (qx, qy) = stripes[0].start, stripes[0].end
        (rx, ry), (sx, sy) = plaids[0].start, plaids[0].end
        ax, ay, bx, by = qx - px, qy - py, sx - rx, sy - ry
        cross = ax * by - ay * bx
        if abs(cross) <= 1e-3 * math.hypot(ax, ay) * math.hypot(bx, by):
            return None
        t = ((rx - px) * by - (ry - py) * bx) / cross
        self._tell("motif", "the print is centred where stripe and plaid line cross")
        return (px + t * ax, py + t * ay)

    def _unfolded(self, piece: Piece, marked: Sequence[tuple[Mark, bool]]) -> tuple[Piece, bool]:
        """Open a half piece at its mirror line; marks that say so are not mirrored."""
        drawn = [item.path for item in self._by_role[Role.FOLD] if item.path]
        paths = [path for path in drawn if math.dist(path.start, path.end) > TOLERANCE.close]
        if len(paths) < len(drawn):
            self._tell("fold", "a mirror line that ends where it begins is left out")
        marks = tuple(mark for mark, _ in marked)
        if not paths:
            return replace(piece, marks=marks), False
        path = max(paths, key=lambda p: math.dist(p.start, p.end))
        if len(paths) > 1:
            self._tell("fold", "several mirror lines; the longest is taken")
        start, end = path.start, path.end
        shares = _sides(piece.cut, start, end)
        if min(shares) > 0.02 * sum(shares):
            return self._whole(piece, marks, (start, end)), False
        twice = tuple(mark for mark, once in marked if not once)
        single = tuple(mark for mark, once in marked if once)
        try:
            whole = opened(replace(piece, marks=twice), axis=_axis(piece.cut, start, end))
        except PatternError as trouble:
            self._tell(
                "fold",
                f"the half piece can't be opened: {trouble.what}",
                severity=Severity.FAULT,
            )
            return replace(piece, marks=marks), False
        return replace(whole, marks=whole.marks + single), True

    def _whole(self, piece: Piece, marks: tuple[Mark, ...], fold: tuple[Point, Point]) -> Piece:
        """Keep a piece that is drawn whole across its mirror line, if it is symmetric."""
        by = Affine.mirror_in(*fold)
        edge = Edge(piece.cut)
        off = edge.farthest([by(segment.start) for segment in piece.cut.segments])
        if off > TOLERANCE.on_edge:
            self._tell(
                "fold",
                f"the mirror line crosses a piece that is not symmetric about it "
                f"(off by {self._say.length(off)}); it is kept as drawn",
                amount=off,
                severity=Severity.FAULT,
            )
            return replace(piece, marks=marks)
        self._tell("fold", "drawn whole, with a mirror line across it; kept as drawn")
        return replace(piece, marks=marks, fold=fold)

    def _checked(self, cut: Edge) -> None:
        """Compare with the file's own dense curves, and turn and curve points with the outline."""
        for item in self._by_role[Role.CHECK]:
            if item.path is None:
                continue
            points = item.path.points(TOLERANCE.search_chord)
            step = max(1, len(points) // 200)
            off = cut.farthest(points[::step])
            if off > 0.5:
                self._tell(
                    "curve",
                    f"the file's check curve runs up to {self._say.length(off)} off the outline",
                    amount=off,
                )


def _box_area(path: Path) -> float:
    points = path.points(TOLERANCE.search_chord)
    xs, ys = [p[0] for p in points], [p[1] for p in points]
    return (max(xs) - min(xs)) * (max(ys) - min(ys))


def _circle(path: Path) -> tuple[Point, float]:
    """Return centre and diameter of the box around a drill hole that is drawn."""
    points = path.points(TOLERANCE.search_chord)
    xs, ys = [p[0] for p in points], [p[1] for p in points]
    middle = ((max(xs) + min(xs)) / 2, (max(ys) + min(ys)) / 2)
    return middle, max(max(xs) - min(xs), max(ys) - min(ys))


def _sides(path: Path, start: Point, end: Point) -> tuple[float, float]:
    """Return how far a path reaches to the left and to the right of a line, mm."""
    dx, dy = end[0] - start[0], end[1] - start[1]
    size = math.hypot(dx, dy)
    off = [
        (dx * (y - start[1]) - dy * (x - start[0])) / size
        for x, y in path.points(TOLERANCE.search_chord)
    ]
    return max(0.0, *off), max(0.0, *(-o for o in off))


def _axis(cut: Path, start: Point, end: Point) -> tuple[Point, Point]:
    """Return the straight edge of the outline that lies along the mirror line, else the line.

    Files round: the edge itself is what both halves share.
    """
    beside: list[Line] = []
    for segment in cut.segments:
        if isinstance(segment, Line):
            off = _sides(Path((segment,)), start, end)
            if max(off) <= TOLERANCE.on_edge:
                beside.append(segment)
    edge = max(beside, key=lambda line: math.dist(line.start, line.end), default=None)
    return (edge.start, edge.end) if edge else (start, end)
