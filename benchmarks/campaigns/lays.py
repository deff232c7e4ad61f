"""Random small lays with known truth: legal as they are built, or with one planted fault."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from random import Random

from nesting import Lay, Marker, Part, Placement, Sheet, Sheets, Strip, Turns
from nesting.marker.lay import Binding, Edge, Lattice, Region
from nesting.pattern.path import Arc, Path
from nesting.pattern.piece import Piece

from .second import Drawn, box_of
from .spoilt_lays import Spoiler

__all__ = ["Trial", "trial"]


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
        return Trial(marker=made.held(good), drawn=made.drawn, legal=True)
    if kind == 10:
        return Trial(marker=made.moved(good), drawn=made.drawn, legal=False, planted="held")
    if kind < 10:
        return Trial(marker=made.scattered(good), drawn=made.drawn, legal=False)
    marker, planted = made.spoilt(good)
    return Trial(marker=marker, drawn=made.drawn, legal=False, planted=planted)


class _Maker(Spoiler):
    """Makes one trial."""

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
                Turns(angles=(self.some(0, 359),), slack=2.5),
                Turns(slack=180.0),
            )
        )
        return Part(name=f"p{index}", piece=piece, turns=turns, flip=rng.random() < 0.4)

    def turned(self, part: Part) -> float:
        """Return a turn that a part may take."""
        if part.turns.free:
            return self.some(0, 359)
        slack = part.turns.slack
        share = self.rng.choice((-1.0, 0.0, 1.0, self.rng.uniform(-1.0, 1.0)))
        return self.rng.choice(part.turns.angles) + share * slack

    def plugged(self) -> Marker:
        """Return a plate with a round cut-out and a plug in it that just has room, or more."""
        rng = self.rng
        plug = rng.choice(
            (
                Drawn((self.convex(self.some(24, 60), self.some(24, 60)),)),
                Drawn((((0.0, 0.0),),), self.some(8, 30)),
                Drawn((((0.0, 0.0), (self.some(20, 50), 9.0)),), self.some(4, 12)),
            )
        )
        x0, y0, x1, y1 = box_of(plug.shape())
        middle = (0.5 * (x0 + x1), 0.5 * (y0 + y1))
        far = max(math.dist(p, middle) for p in plug.rings[0]) + plug.radius
        bore = far + self.spacing + rng.choice((0.0, 0.0, 5.0))
        w, h = 2.0 * bore + self.some(8, 40), 2.0 * bore + self.some(8, 40)
        at = (0.5 * w, 0.5 * h)
        plate = Drawn((((0.0, 0.0), (w, 0.0), (w, h), (0.0, h)),), bore=(at, bore))
        circle = Path((Arc(at, (bore, 0.0), (0.0, bore), math.tau, -math.tau),))
        pieces = (
            Piece(name="plate", cut=self.keep(plate), holes=(circle,)),
            Piece(name="plug", cut=self.keep(plug)),
        )
        parts = tuple(Part(name=p.name, piece=p, turns=Turns(slack=180.0)) for p in pieces)
        angle = rng.choice((0.0, 90.0, self.some(0, 359)))
        first = Placement(part=0, x=0.0, y=0.0, angle=angle, flipped=False)
        x0, y0, x1, y1 = box_of(plate.shape(first))
        first = replace(first, x=-x0, y=-y0)
        second = Placement(part=1, x=0.0, y=0.0, angle=self.some(0, 359), flipped=False)
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
            size = self.some(5, 20)
            at = (wide + size, self.some(size, size + 20.0))
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
            self.rim = self.some(4, 30)
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
