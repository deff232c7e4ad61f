"""Random lays with one planted fault."""

from __future__ import annotations

import math
from dataclasses import replace

from nesting import Marker, Part, Placement, Sheets, Turns, hold
from nesting.marker.lay import Edge
from nesting.pattern.piece import Mark, MarkKind, Piece

from .lay_shapes import Shapes
from .second import Drawn, box_of, placed

__all__ = ["Spoiler"]


class Spoiler(Shapes):
    """Spoils good markers."""

    def scattered(self, marker: Marker) -> Marker:
        """Return the marker with its parts anywhere near."""
        places = [
            replace(p, x=p.x + self.rng.uniform(-60, 60), y=p.y + self.rng.uniform(-60, 60))
            for p in marker.placements
        ]
        return replace(marker, placements=tuple(places))

    def held(self, marker: Marker) -> Marker:
        """Return the marker with some of its parts held where they lie."""
        names = [part.name for part in marker.lay.parts]
        return hold(marker, self.rng.sample(names, self.rng.randint(0, len(names))))

    def moved(self, marker: Marker) -> Marker:
        """Return the marker with all parts held, one elsewhere or otherwise than it lies."""
        rng, kept = self.rng, hold(marker)
        parts = list(kept.lay.parts)
        k = rng.randrange(len(parts))
        held = parts[k].held
        assert held is not None
        off = rng.choice((2e-6, 1e-3, 5.0, -80.0))
        there = rng.choice((
            replace(held, x=held.x + off),
            replace(held, y=held.y - off, x=held.x + off),
            replace(held, angle=held.angle + rng.choice((1e-4, 0.5, 90.0, 180.0))),
            replace(held, flipped=not held.flipped),
        ))  # fmt: skip
        parts[k] = replace(parts[k], held=there)
        return replace(kept, lay=replace(kept.lay, parts=tuple(parts)))

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
