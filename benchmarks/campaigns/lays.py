"""Random small lays with known truth: legal as they are built, or with one planted fault."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from random import Random

from nesting import Lay, Marker, Part, Placement, Sheet, Sheets, Strip, Turns
from nesting.marker.lay import Binding, Edge, Lattice, Region
from nesting.pattern.path import Arc, Line, Path, Segment
from nesting.pattern.piece import Mark, MarkKind, Piece

from .second import Drawn, box_of, placed

__all__ = ["Trial", "path_of", "trial"]

_SPACINGS = (0.0, 0.0, 2.0, 3.5)


@dataclass(frozen=True, slots=True, kw_only=True)
class Trial:
    """A marker, the shapes in it (by the ids of their paths), and what is known of it."""

    marker: Marker
    drawn: dict[int, Drawn]
    legal: bool
    planted: str | None = None


def trial(rng: Random) -> Trial:
    """Return a random marker of two to five parts."""
    made = _Maker(rng)
    if rng.random() < 0.1:
        plugged = made.plugged()
        if rng.random() < 0.5:
            return Trial(marker=plugged, drawn=made.drawn, legal=True)
        stuck, planted = made.stuck(plugged)
        return Trial(marker=stuck, drawn=made.drawn, legal=False, planted=planted)
    good = made.legal()
    kind = rng.randrange(16)
    if kind < 8:
        return Trial(marker=good, drawn=made.drawn, legal=True)
    if kind < 10:
        return Trial(marker=made.scattered(good), drawn=made.drawn, legal=False)
    marker, planted = made.spoilt(good)
    return Trial(marker=marker, drawn=made.drawn, legal=False, planted=planted)


def path_of(drawn: Drawn, *, ring: int = 0) -> Path:
    """Return a ring as a path: corners counter-clockwise, grown with arcs if it has a radius."""
    points, r = drawn.rings[ring], drawn.radius
    if r == 0.0:
        return Path.polyline(list(points), closed=True)
    if len(points) == 1:
        return Path((Arc(points[0], (r, 0.0), (0.0, r), 0.0, math.tau),))
    ways = [
        math.atan2(q[1] - p[1], q[0] - p[0])
        for p, q in zip(points, [*points[1:], points[0]], strict=True)
    ]
    arcs = [
        Arc(p, (r, 0.0), (0.0, r), ways[k - 1] - math.pi / 2, (ways[k] - ways[k - 1]) % math.tau)
        for k, p in enumerate(points)
    ]
    segments: list[Segment] = []
    for k, arc in enumerate(arcs):
        segments += [arc, Line(arc.end, arcs[(k + 1) % len(arcs)].start)]
    return Path(tuple(segments))


class _Maker:
    """Makes one trial."""

    def __init__(self, rng: Random) -> None:
        self.rng = rng
        self.drawn: dict[int, Drawn] = {}
        self.on_strip = rng.random() < 0.5
        self.spacing = rng.choice(_SPACINGS)
        self.drop, self.drift = rng.choice((0.0, 0.5)), rng.choice((0.0, 2.0))
        self.rim = 0.0

    def keep(self, drawn: Drawn, *, ring: int = 0) -> Path:
        """Return the path of a shape that the second judge will know."""
        path = path_of(drawn, ring=ring)
        self.drawn[id(path)] = drawn
        return path

    # -- shapes

    def _some(self, low: float, high: float) -> float:
        return self.rng.randrange(int(16 * low), int(16 * high)) / 16.0

    def shape(self) -> Drawn:
        """Return a shape of 20 to 150 mm: polygon, with a hole, comb, disc, rounded polygon."""
        rng = self.rng
        kind = rng.choice(("polygon", "polygon", "hole", "notched", "disc", "bar", "rounded"))
        if kind == "disc":
            return Drawn((((0.0, 0.0),),), self._some(8, 50))
        if kind == "bar":
            return Drawn(
                (((0.0, 0.0), (self._some(20, 90), self._some(-30, 30))),), self._some(4, 20)
            )
        w, h = self._some(24, 110), self._some(24, 110)
        if kind == "rounded":
            return Drawn((self._convex(w, h),), self._some(3, 15))
        if kind == "notched":
            x, y = self._some(0.3 * w, 0.6 * w), self._some(0.3 * h, 0.7 * h)
            ring = ((0.0, 0.0), (w, 0.0), (w, h), (x + 6.0, h), (x, y), (x - 6.0, h), (0.0, h))
            return Drawn((ring,))
        if kind == "hole":
            a, b = w / 4, h / 4
            hole = ((a, b), (a, 3 * b), (3 * a, 3 * b), (3 * a, b))
            return Drawn((((0.0, 0.0), (w, 0.0), (w, h), (0.0, h)), hole))
        return Drawn((self._convex(w, h),))

    def _convex(self, w: float, h: float) -> tuple[tuple[float, float], ...]:
        """Return a convex ring: a rectangle with corners cut off."""
        ring: list[tuple[float, float]] = []
        corners = ((0.0, 0.0, 1, 1), (w, 0.0, -1, 1), (w, h, -1, -1), (0.0, h, 1, -1))
        for k, (x, y, sx, sy) in enumerate(corners):
            if self.rng.random() < 0.5:
                ring.append((x, y))
                continue
            along, across = (x + sx * self._some(1, w / 3), y), (x, y + sy * self._some(1, h / 3))
            ring += [across, along] if k % 2 == 0 else [along, across]
        return tuple(ring)

    # -- a legal lay

    def part(self, index: int) -> Part:
        """Return a part of a random shape and freedom."""
        rng, drawn = self.rng, self.shape()
        piece = Piece(
            name=f"p{index}",
            cut=self.keep(drawn),
            holes=tuple(Path.polyline(list(ring), closed=True) for ring in drawn.rings[1:]),
        )
        turns = rng.choice(
            (
                Turns(),
                Turns(angles=(0.0, 180.0)),
                Turns(angles=(0.0, 90.0, 180.0, 270.0)),
                Turns(angles=(0.0, 180.0), slack=5.0),
                Turns(angles=(self._some(0, 359),), slack=2.5),
                Turns(slack=180.0),
            )
        )
        return Part(name=f"p{index}", piece=piece, turns=turns, flip=rng.random() < 0.4)

    def turned(self, part: Part) -> float:
        """Return a turn that a part may take."""
        if part.turns.free:
            return self._some(0, 359)
        slack = part.turns.slack
        share = self.rng.choice((-1.0, 0.0, 1.0, self.rng.uniform(-1.0, 1.0)))
        return self.rng.choice(part.turns.angles) + share * slack

    def plugged(self) -> Marker:
        """Return a plate with a round cut-out and a plug in it that just has room, or more."""
        rng = self.rng
        plug = rng.choice(
            (
                Drawn((self._convex(self._some(24, 60), self._some(24, 60)),)),
                Drawn((((0.0, 0.0),),), self._some(8, 30)),
                Drawn((((0.0, 0.0), (self._some(20, 50), 9.0)),), self._some(4, 12)),
            )
        )
        x0, y0, x1, y1 = box_of(plug.shape())
        middle = (0.5 * (x0 + x1), 0.5 * (y0 + y1))
        far = max(math.dist(p, middle) for p in plug.rings[0]) + plug.radius
        bore = far + self.spacing + rng.choice((0.0, 0.0, 5.0))
        w, h = 2.0 * bore + self._some(8, 40), 2.0 * bore + self._some(8, 40)
        at = (0.5 * w, 0.5 * h)
        plate = Drawn((((0.0, 0.0), (w, 0.0), (w, h), (0.0, h)),), bore=(at, bore))
        circle = Path((Arc(at, (bore, 0.0), (0.0, bore), math.tau, -math.tau),))
        pieces = (
            Piece(name="plate", cut=self.keep(plate), holes=(circle,)),
            Piece(name="plug", cut=self.keep(plug)),
        )
        parts = tuple(Part(name=p.name, piece=p, turns=Turns(slack=180.0)) for p in pieces)
        angle = rng.choice((0.0, 90.0, self._some(0, 359)))
        first = Placement(part=0, x=0.0, y=0.0, angle=angle, flipped=False)
        x0, y0, x1, y1 = box_of(plate.shape(first))
        first = replace(first, x=-x0, y=-y0)
        second = Placement(part=1, x=0.0, y=0.0, angle=self._some(0, 359), flipped=False)
        there, here = first.affine(at), second.affine(middle)
        second = replace(second, x=there[0] - here[0], y=there[1] - here[1])
        lay = Lay(
            name="plugged", parts=parts, stock=Strip(width=y1 - y0 + 9.0), spacing=self.spacing
        )
        return Marker(lay=lay, placements=(first, second))

    def stuck(self, marker: Marker) -> tuple[Marker, str]:
        """Return the marker with the plug too near the round edge."""
        first, second = marker.placements
        plate = self.drawn[id(marker.lay.parts[0].piece.cut)]
        plug = self.drawn[id(marker.lay.parts[1].piece.cut)]
        assert plate.bore is not None
        middle = first.affine(plate.bore[0])
        corners = [second.affine(p) for p in plug.rings[0]]
        x, y = max(corners, key=lambda p: math.dist(p, middle))
        far = math.dist((x, y), middle)
        way = ((x - middle[0]) / far, (y - middle[1]) / far) if far else (1.0, 0.0)
        depth = self.rng.choice((0.02, 0.1, 1.0, 3.0))
        lack = min(depth, 0.9 * self.spacing) if self.spacing else depth
        go = plate.bore[1] - far - plug.radius - self.spacing + lack
        moved = replace(second, x=second.x + go * way[0], y=second.y + go * way[1])
        return replace(marker, placements=(first, moved)), "gap" if self.spacing else "overlap"

    def legal(self) -> Marker:
        """Return parts in one row each of some columns, exactly the spacing apart."""
        rng = self.rng
        margin = 0.0 if self.on_strip else rng.choice((0.0, 5.0))
        parts, places = [], []
        x = y = right = margin
        top = 0.0
        kind = "" if rng.random() < 0.6 else rng.choice(("turn_group", "mates", "lattice", "phase"))
        shared = rng.choice((0.0, 180.0))
        for index in range(rng.randint(2, 5)):
            part = self.part(index)
            angle = self.turned(part)
            if kind == "turn_group":
                part = replace(part, turn_group="g", turns=Turns(angles=(0.0, 180.0)))
                angle = shared
            if kind == "mates":
                part = replace(part, mates="m")
            flipped = part.flip and rng.random() < 0.5
            place = Placement(part=index, x=0.0, y=0.0, angle=angle, flipped=flipped)
            x0, y0, x1, y1 = box_of(self.drawn[id(part.piece.cut)].shape(place))
            if rng.random() < 0.4:
                x, y = right + self.spacing, margin
            place = replace(place, x=x - x0, y=y - y0)
            y += y1 - y0 + self.spacing
            right, top = max(right, x + x1 - x0), max(top, y - self.spacing)
            if kind in ("lattice", "phase"):
                part, place = self.bound(part, place, kind)
            parts.append(part)
            places.append(place)
        if kind in ("lattice", "phase"):
            parts, places, right, top = self.spread(parts, places)
        if self.on_strip:
            return self.strip(parts, places, right, top)
        return self.sheets(parts, places, right, top, margin)

    def bound(self, part: Part, place: Placement, kind: str) -> tuple[Part, Placement]:
        """Return a part bound to a repeat of 64 mm by 48 mm."""
        lattice = Lattice(
            along=64.0,
            across=self.rng.choice((None, 48.0)) if kind == "lattice" else 48.0,
            drop=self.drop,
            origin=(10.0, 4.0),
            tolerance=self.drift if kind == "phase" else self.rng.choice((0.0, 2.0)),
        )
        phase = None if kind == "lattice" else "seam"
        return replace(
            part, binding=Binding(anchor=(3.0, 5.0), lattice=lattice, phase=phase)
        ), place

    def spread(
        self, parts: list[Part], places: list[Placement]
    ) -> tuple[list[Part], list[Placement], float, float]:
        """Return bound parts side by side, each with its anchor on the repeat, and their box."""
        moved, x, top = [], 320.0, 0.0
        for part, place in zip(parts, places, strict=True):
            assert part.binding is not None
            here = replace(place, x=0.0, y=0.0)
            ax, ay = here.affine(part.binding.anchor)
            slack = part.binding.lattice.tolerance * self.rng.choice((-1.0, 0.0, 1.0))
            column, row = self.rng.randint(0, 1), self.rng.randint(4, 8)
            odd = 64.0 * self.drop if row % 2 and part.binding.lattice.across else 0.0
            place = replace(
                here,
                x=10.0 + x + 64.0 * column + odd - ax + slack,
                y=4.0 + 48.0 * row - ay,
            )
            box = box_of(self.drawn[id(part.piece.cut)].shape(place))
            x, top = x + 320.0 + 64.0, max(top, box[3])
            moved.append(place)
        return parts, moved, x + 200.0, top

    def strip(self, parts: list[Part], places: list[Placement], right: float, top: float) -> Marker:
        """Return the marker on cloth that is just wide and long enough, or has room."""
        rng = self.rng
        width = top + rng.choice((0.0, 0.0, 40.0))
        longest = rng.choice((None, right, right + 30.0))
        for k, (part, place) in enumerate(zip(parts, places, strict=True)):
            low, high = box_of(self.drawn[id(part.piece.cut)].shape(place))[1::2]
            if low == 0.0 and rng.random() < 0.3:
                parts[k] = replace(part, edge=Edge.LOW)
            elif high == width and rng.random() < 0.3:
                parts[k] = replace(part, edge=Edge.HIGH)
        stock = Strip(width=width, longest=longest)
        lay = Lay(name="strip", parts=tuple(parts), stock=stock, spacing=self.spacing)
        return Marker(lay=lay, placements=tuple(places))

    def sheets(
        self, parts: list[Part], places: list[Placement], right: float, top: float, margin: float
    ) -> Marker:
        """Return the marker on one sheet, with flaws to its right and regions about some parts."""
        rng = self.rng
        wide, high = right + margin, top + margin
        flaws: list[Drawn] = []
        if rng.random() < 0.6:
            size = self._some(5, 20)
            at = (wide + size, self._some(size, size + 20.0))
            flaws.append(Drawn(((at,),), size))
            if rng.random() < 0.5:
                x, y = wide + 70.0, 10.0
                flaws.append(Drawn((((x, y), (x + 9.0, y + 2.0), (x + 3.0, y + 30.0)),)))
        ring: tuple[tuple[float, float], ...] = (
            (0.0, 0.0),
            (wide, 0.0),
            (wide, high),
            (0.0, high),
        )
        if flaws or rng.random() < 0.5:  # room to the right, its corner cut off
            ring = (
                (0.0, 0.0),
                (wide + 120.0, 0.0),
                (wide + 90.0, high),
                (wide, high + 8.0),
                (0.0, high),
            )
        elif rng.random() < 0.5:  # its corners round, all as far beyond
            self.rim = self._some(4, 30)
        regions: list[Region] = []
        for k, part in enumerate(parts):
            if rng.random() < 0.25:
                name = f"zone {k}"
                regions.append(self.about(part, places[k], name))
                if rng.random() < 0.5:  # the same name elsewhere: either will do
                    other = Drawn((((0.0, 0.0), (9.0, 0.0), (0.0, 9.0)),))
                    regions.insert(0, Region(name=name, outlines=(self.keep(other),)))
                parts[k] = replace(part, region=name)
        sheet = Sheet(
            name="sheet",
            outline=self.keep(Drawn((ring,), self.rim)),
            holes=tuple(self.keep(flaw) for flaw in flaws),
            regions=tuple(regions),
            count=rng.choice((None, 1, 2)),
        )
        stock = Sheets(sheets=(sheet,), margin=margin + self.rim)
        lay = Lay(name="sheets", parts=tuple(parts), stock=stock, spacing=self.spacing)
        return Marker(lay=lay, placements=tuple(places), sheets=(0,))

    def about(self, part: Part, place: Placement, name: str) -> Region:
        """Return a region just about a part, with turns of its own one time in two."""
        x0, y0, x1, y1 = box_of(self.drawn[id(part.piece.cut)].shape(place))
        rings = [((x0, y0), (x1, y0), (x1, y1), (x0, y1))]
        turns = Turns(angles=(place.angle + 1.0,), slack=1.5) if self.rng.random() < 0.5 else None
        if self.rng.random() < 0.5:  # wider, with a hole beside the part, and a second outline
            rings = [((x0, y0), (x1 + 30.0, y0), (x1 + 30.0, y1), (x0, y1))]
            rings.append(((x1, y0 + 3.0), (x1, y1 - 3.0), (x1 + 9.0, y1 - 3.0), (x1 + 9.0, y0 + 3)))
            x2 = x1 + 31.0
            rings.append(((x2, y0), (x2 + 9.0, y0), (x2 + 9.0, y1), (x2, y1)))
        return self.region(name, rings, turns)

    def region(
        self,
        name: str,
        rings: Sequence[tuple[tuple[float, float], ...]],
        turns: Turns | None = None,
    ) -> Region:
        """Return a region of rings, known to the second judge by the first."""
        drawn = Drawn(tuple(rings))
        rest = tuple(path_of(drawn, ring=k) for k in range(1, len(rings)))
        return Region(name=name, outlines=(self.keep(drawn), *rest), turns=turns)

    # -- faults

    def scattered(self, marker: Marker) -> Marker:
        """Return the marker with its parts anywhere near."""
        places = [
            replace(p, x=p.x + self.rng.uniform(-60, 60), y=p.y + self.rng.uniform(-60, 60))
            for p in marker.placements
        ]
        return replace(marker, placements=tuple(places))

    def spoilt(self, marker: Marker) -> tuple[Marker, str]:
        """Return the marker with one fault, and what kind it has."""
        rng, lay = self.rng, marker.lay
        places = list(marker.placements)
        k = rng.randrange(len(places))
        part, place = lay.parts[places[k].part], places[k]
        x0, y0, x1, y1 = box_of(self.drawn[id(part.piece.cut)].shape(place))
        depth = rng.choice((0.02, 0.1, 1.0, 7.0))

        def at(moved: Placement) -> Marker:
            places[k] = moved
            return replace(marker, placements=tuple(places))

        def with_part(new: Part) -> Marker:
            parts = [new if i == place.part else p for i, p in enumerate(lay.parts)]
            return replace(marker, lay=replace(lay, parts=tuple(parts)))

        def others() -> list[Placement]:
            return [p for i, p in enumerate(places) if i != k]

        ways = ["missing", "extra", "turn", "overlap", "gap", "outside", "number", "mark"]
        if not part.flip:
            ways.append("flip")
        if part.edge is not None:
            ways.append("edge")
        if part.turn_group is not None:
            ways.append("turn_group")
        if part.binding is not None:
            ways.append("lattice")
        if isinstance(lay.stock, Sheets):
            ways += ["region", "flaw", "sheet", "mates"]
        kind = rng.choice(ways)
        if kind == "missing":
            del places[k]
            return replace(marker, placements=tuple(places)), kind
        if kind == "extra":
            return replace(marker, placements=(*places, place)), kind
        if kind == "number":
            bad = rng.choice((math.nan, math.inf, 1e12))
            return at(replace(place, x=bad)), kind
        if kind == "turn":
            free = part if not part.turns.free else replace(part, turns=Turns())
            off = max(free.turns.slack, 0.0) + rng.choice((1e-4, 0.5, 20.0))
            free = replace(free, turns=Turns(angles=(place.angle + off,), slack=free.turns.slack))
            if part.region is not None:
                free = replace(free, region=None)
            return with_part(free), kind
        if kind == "flip":
            return at(replace(place, flipped=True)), kind
        if kind == "edge":
            way = depth if part.edge is Edge.LOW else -depth
            return at(replace(place, y=place.y + way)), kind
        if kind == "turn_group":
            return at(replace(place, angle=place.angle + 180.0)), kind
        if kind == "lattice":
            assert part.binding is not None
            pairs = 4.0 if part.binding.phase is not None else 2.0
            off = part.binding.lattice.tolerance * pairs + rng.choice((0.01, 1.0, 20.0))
            return at(replace(place, x=place.x + off)), kind
        if kind == "mark":
            mark = Mark(kind=MarkKind.DRILL, at=(500.0, 500.0), size=3.0)
            return with_part(replace(part, piece=replace(part.piece, marks=(mark,)))), kind
        if kind == "overlap":  # on the middle of another, or its own twin
            other = others()[0]
            there = self.drawn[id(lay.parts[other.part].piece.cut)].shape(other)
            ox0, oy0, ox1, oy1 = box_of(there)
            x, y = place.x - x0 + 0.5 * (ox0 + ox1), place.y - y0 + 0.5 * (oy0 + oy1)
            centred = replace(place, x=x - 0.5 * (x1 - x0), y=y - 0.5 * (y1 - y0))
            holed = any(lay.parts[p.part].piece.holes for p in (place, other))
            if holed:
                twin = Part(name="twin", piece=part.piece, turns=part.turns, flip=part.flip)
                twins = replace(place, part=len(lay.parts), x=place.x + 0.01 * (x1 - x0))
                if part.region is not None:
                    twin = replace(twin, turns=Turns(slack=180.0))
                whole = replace(lay, parts=(*lay.parts, twin))
                return replace(marker, lay=whole, placements=(*places, twins)), kind
            return at(centred), kind
        if kind == "gap":
            return self.too_near(marker, place, depth), "gap" if self.spacing else "overlap"
        if kind == "outside":
            margin = lay.stock.margin if isinstance(lay.stock, Sheets) else 0.0
            out = x0 + depth - (margin - self.rim)
            return at(replace(place, x=place.x - out)), kind
        assert isinstance(lay.stock, Sheets)
        sheet = lay.stock.sheets[0]
        if kind == "sheet":
            one = replace(lay.stock, sheets=(replace(sheet, count=0),))
            return replace(marker, lay=replace(lay, stock=one)), kind
        if kind == "mates":
            parts = [replace(p, mates="m") for p in lay.parts]
            whole = replace(lay, parts=tuple(parts), stock=replace(lay.stock, sheets=(sheet,)))
            moved = at(replace(place, sheet=1))
            return replace(moved, lay=whole, sheets=(0, 0)), kind
        if kind == "flaw":
            cut = self.drawn[id(part.piece.cut)]
            corner = cut.shape(place).rings[0][0]
            spot = Drawn((((corner[0] / 2**30, corner[1] / 2**30),),), rng.choice((1.0, 4.0)))
            scarred = replace(sheet, holes=(*sheet.holes, self.keep(spot)))
            stock = replace(lay.stock, sheets=(scarred,))
            return replace(marker, lay=replace(lay, stock=stock)), kind
        bare = rng.random() < 0.3
        ring = ((x0 - 5, y0 - 5), (x1 - depth, y0 - 5), (x1 - depth, y1 + 5), (x0 - 5, y1 + 5))
        rings: list[tuple[tuple[float, float], ...]] = [ring]
        if rng.random() < 0.3:  # all of it, but for a hole at a corner
            ring = ((x0 - 5, y0 - 5), (x1 + 5, y0 - 5), (x1 + 5, y1 + 5), (x0 - 5, y1 + 5))
            x, y = placed(place, self.drawn[id(part.piece.cut)].rings[0][0])
            rings = [ring, ((x - 3, y - 3), (x - 3, y + 3), (x + 3, y + 3), (x + 3, y - 3))]
        zone = self.region("short", rings)
        zoned = replace(sheet, regions=(*sheet.regions, *([] if bare else [zone])))
        spoiled = with_part(replace(part, region="short", turns=Turns(slack=180.0)))
        stock = replace(lay.stock, sheets=(zoned,))
        return replace(spoiled, lay=replace(spoiled.lay, stock=stock)), "region"

    def too_near(self, marker: Marker, place: Placement, depth: float) -> Marker:
        """Return the marker with a plate over a part's upper end, too near by `depth`."""
        lay = marker.lay
        x0, _, x1, y1 = box_of(self.drawn[id(lay.parts[place.part].piece.cut)].shape(place))
        plate = Drawn((((0.0, 0.0), (x1 - x0, 0.0), (x1 - x0, 900.0), (0.0, 900.0)),))
        piece = Piece(name="plate", cut=self.keep(plate))
        near = min(depth, 0.9 * self.spacing) if self.spacing else depth
        part = Part(name="plate", piece=piece)
        over = Placement(part=len(lay.parts), x=x0, y=y1 + self.spacing - near, sheet=place.sheet)
        whole = replace(lay, parts=(*lay.parts, part))
        return replace(marker, lay=whole, placements=(*marker.placements, over))
