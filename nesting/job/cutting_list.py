"""From the cutting list of a job file to cuts, each checked against its piece and material."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from nesting.job.desk import Desk
from nesting.job.job import Cut
from nesting.job.locate import Place
from nesting.job.tables.job_table import CutTable, MatchTable
from nesting.material.material import Grade, Material, Nap
from nesting.pattern.nearest import inward
from nesting.pattern.nearest import nearest as nearest_on
from nesting.pattern.path import Affine, Point
from nesting.pattern.piece import Piece
from nesting.pattern.variants.fold import folded_back
from nesting.pattern.variants.symmetry import maps_on_itself
from nesting.pattern.variants.variant import trimmed

__all__ = ["Bench", "cuts_from"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Bench:
    """What a cutting list may name. `roles`: which material plays the role of which."""

    pieces: Mapping[str, Piece]
    materials: Mapping[str, Material]
    roles: Mapping[str, str]

    def material(self, word: str) -> Material | None:
        """Return the material that a word of the cutting list stands for."""
        return self.materials.get(self.roles.get(word, word))


def cuts_from(
    tables: Sequence[CutTable], place: Place, desk: Desk, *, bench: Bench
) -> tuple[Cut, ...]:
    """Return the cuts of a cutting list, one for each piece, material and variant.

    Raises
    ------
    JobError
        If a line names what does not exist, or asks what its piece or material can't give.

    """
    found: list[Cut] = []
    for i, table in enumerate(tables):
        here = (*place, i)
        if table.piece not in bench.pieces:
            raise desk.unknown("piece", table.piece, (*here, "piece"), known=bench.pieces)
        for word in table.material:
            if bench.material(word) is None:
                name, words = bench.roles.get(word, word), [*bench.materials, *bench.roles]
                raise desk.unknown("material", name, (*here, "material"), known=words)
        cuts = [_cut(table, word, here, desk, bench=bench) for word in table.material]
        for cut in cuts:
            if cut in found:
                raise desk.error(
                    f"{cut.piece} from {cut.material} stands twice in the cutting list",
                    here,
                    hint="raise copies instead",
                )
            found.append(cut)
    _mates_exist(tables, found, place, desk)
    return tuple(found)


def _cut(table: CutTable, word: str, place: Place, desk: Desk, *, bench: Bench) -> Cut:
    material = bench.material(word)
    assert material is not None
    piece = bench.pieces[table.piece]
    _check_variant(table, piece, place, desk)
    _check_up(table, piece, material, place, desk)
    _check_print(table, material, place, desk, bench=bench)
    if table.pieced is None and "joins" in table.model_fields_set:
        raise desk.error(
            "joins are for what may be joined", (*place, "joins"), hint='say pieced = "10 mm", too'
        )
    if table.pieced is not None and (material.is_leather or table.centred or table.matches):
        what = "leather" if material.is_leather else "a print that is centred or matched"
        raise desk.error(
            f"{what} is not pieced", (*place, "pieced"), hint="leave it out, or cut in two pieces"
        )
    if table.grade is not None and not material.is_leather:
        raise desk.error("only leather has grades", (*place, "grade"), hint="leave it out")
    if table.grade is not None:
        for hide in material.hides:
            if not hide.zones:
                desk.assume(
                    "no zones are drawn, all of it is taken for grade A", of=hide.name, first=True
                )
    match = table.matches
    return Cut(
        piece=table.piece,
        material=material.name,
        copies=table.copies,
        pairs=table.pairs,
        reversed=table.reversed,
        trimmed=table.trimmed,
        gap=table.gap,
        rough_margin=table.rough_margin,
        folded_back=table.folded_back,
        nap=None if table.nap is None else Nap(table.nap),
        turn_slack=table.turn_slack,
        grain=table.grain,
        centred=table.centred,
        matches=None if match is None else (match.point, match.piece, match.to),
        match_left=None if match is None else match.left,
        grade=None if table.grade is None else Grade(table.grade),
        mates=table.mates is not False,
        mate=table.mates if isinstance(table.mates, str) else None,
        pieced=table.pieced,
        joins=table.joins,
    )


def _check_variant(table: CutTable, piece: Piece, place: Place, desk: Desk) -> None:
    """Refuse variants that the piece doesn't have, or of which nothing is left."""
    if table.pairs and table.reversed:
        raise desk.error(
            "it is both reversed and cut in pairs",
            place,
            hint="pairs = true gives one as drawn and one reversed; choose one",
        )
    if table.gap and not table.trimmed:
        raise desk.error(
            "a gap is for trimmed pieces only", (*place, "gap"), hint="add trimmed = true"
        )
    if table.trimmed and table.rough_margin:
        raise desk.error("it is both trimmed and cut larger", place, hint="choose one")
    if table.trimmed and piece.sew is None:
        raise desk.error(
            f"{piece.name} can't be trimmed: its sewing line is not known",
            (*place, "trimmed"),
            hint="give the piece a seam_allowance",
        )
    if table.folded_back:
        if piece.fold_back is None:
            raise desk.error(
                f"{piece.name} has no fold-back line",
                (*place, "folded_back"),
                hint="give the piece a fold_back line",
            )
        with desk.at((*place, "folded_back")):
            piece, notes = folded_back(piece)
            for note in notes:
                desk.assume(note.text)
    if table.trimmed:
        with desk.at((*place, "trimmed")):
            for note in trimmed(piece, gap=table.gap)[1]:
                desk.assume(note.text)


def _check_up(table: CutTable, piece: Piece, material: Material, place: Place, desk: Desk) -> None:
    """Refuse a piece of which nobody knows the top on goods that have a right way up."""
    nap = material.nap if table.nap is None else Nap(table.nap)
    if piece.up_known or nap is not Nap.ONE_WAY or maps_on_itself(piece, 180.0, marks=True):
        return
    raise desk.error(
        f"which end of {piece.name} is up is not known, and {material.name} has a right way up: it"
        " could be laid upside down",
        (*place, "piece"),
        hint="say grain, towards the end that is up, in its [[piece]], or draw one arrowhead on its"
        ' grain line; or nap = "none" in this [[cut]] if it does not matter',
    )


def _check_print(
    table: CutTable, material: Material, place: Place, desk: Desk, *, bench: Bench
) -> None:
    """Refuse prints to be centred or matched where there are none, or no such points."""
    asked = "centred" if table.centred else "matches" if table.matches else None
    if asked is None:
        return
    if material.print is None:
        raise desk.error(
            f"{material.name} has no print",
            (*place, asked),
            hint=f"give the cloth a print, or give {material.name} a [[cut]] of its own",
        )
    if table.matches is None:
        return
    if table.centred:
        raise desk.error(
            "it is both centred and matched to another piece", place, hint="choose one"
        )
    match, there = table.matches, (*place, "matches")
    if match.piece not in bench.pieces:
        raise desk.unknown("piece", match.piece, (*there, "piece"), known=bench.pieces)
    if match.piece == table.piece and match.point == match.to:
        raise desk.error("a point can't be matched to itself", there, hint="name another")
    if match.left is not None and not table.pairs:
        raise desk.error(
            f"{table.piece} is not cut in pairs", (*there, "left"), hint="add pairs = true"
        )
    named = [(table.piece, match.point, "point"), (match.piece, match.to, "to")]
    if match.left is not None:
        named.append((match.piece, match.left, "left"))
    for name, point, key in named:
        points = [word for word, _ in bench.pieces[name].points]
        if point not in points:
            raise desk.unknown(f"point of {name}", point, (*there, key), known=points)
    _say_facing(table, match, desk, bench=bench)


def _say_facing(table: CutTable, match: MatchTable, desk: Desk, *, bench: Bench) -> None:
    """Say so if two edges that are to be sewn together face the same way on the cloth."""
    ways = [
        _outward(bench.pieces[name], point)
        for name, point in ((table.piece, match.point), (match.piece, match.to))
    ]
    (ax, ay), (bx, by) = ways
    if ax * bx + ay * by > _SAME_WAY:
        desk.assume(
            f'its edge at "{match.point}" and that of {match.piece} at "{match.to}" face the same'
            " way on the cloth, so the print can't run on across that seam: look at the points",
            of=table.piece,
            first=True,
        )


_SAME_WAY = 0.5
"""Cosine of the angle between two edges' outward directions from which on they face one way."""


def _outward(piece: Piece, point: str) -> Point:
    """Return the way out of a piece at one of its named points, the grain along +x."""
    edge = piece.sew or piece.cut
    x, y = inward(edge, nearest_on(edge, dict(piece.points)[point]))
    return Affine.turn(-piece.grain).vector((-x, -y))


def _mates_exist(tables: Sequence[CutTable], cuts: Sequence[Cut], place: Place, desk: Desk) -> None:
    """Refuse a mate that isn't cut from the same material."""
    lines = [i for i, table in enumerate(tables) for _ in table.material]
    for i, cut in zip(lines, cuts, strict=True):
        if cut.mate is None:
            continue
        if cut.mate == cut.piece:
            raise desk.error(
                "a piece can't be its own mate",
                (*place, i, "mates"),
                hint="mates = true cuts its copies close together",
            )
        if not any(c.piece == cut.mate and c.material == cut.material for c in cuts):
            raise desk.error(
                f'no piece "{cut.mate}" is cut from {cut.material}, so it can\'t be a mate',
                (*place, i, "mates"),
                hint="name a piece that is cut from the same material",
            )
