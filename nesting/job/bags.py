"""The bags of a job: one that the file itself describes, or several, each with its own."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace

from nesting.job.all_goods import materials_of, refuse_clash, refuse_clashes
from nesting.job.cutting_list import Bench, cuts_from
from nesting.job.desk import Desk
from nesting.job.job import Bag, Cut, Notion
from nesting.job.locate import Place
from nesting.job.opening import in_its_size, included, job_table, open_file
from nesting.job.pieces import piece_from
from nesting.job.tables.job_table import BagTable, CutTable, JobTable, NotionTable
from nesting.job.tables.piece_table import MarkTable, PieceTable
from nesting.material.material import Material, Nap
from nesting.names import listed
from nesting.pattern.piece import Piece
from nesting.units import nearest

__all__ = ["PiecePlace", "bags_of"]

PiecePlace = tuple[str, str, int]
"""Where a piece stands: its field, file and line."""

PlacedTable = tuple[PieceTable, Place, Desk]
"""A piece's table, and where it stands in which file."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Design:
    """What one file says of a bag: its pieces, and the tables that need materials to be read.

    `tables`: the tables of the pieces, where they stand and in which file.
    """

    desk: Desk
    place: Place
    pieces: Mapping[str, Piece]
    cuts: Sequence[CutTable]
    notions: Sequence[NotionTable]
    tables: tuple[PlacedTable, ...] = ()

    @property
    def places(self) -> tuple[PiecePlace, ...]:
        """Where the pieces stand."""
        return tuple(
            (f"piece.{table.name}", desk.source.file or "", desk.source.line(place) or 1)
            for table, place, desk in self.tables
        )


def _design(table: JobTable, desk: Desk) -> Design:
    """Return the bag that a file describes outside its [[bag]]s."""
    placed: list[PlacedTable] = [(piece, ("piece", i), desk) for i, piece in enumerate(table.piece)]
    for more, other in included(table, desk):
        placed += [(piece, ("piece", i), other) for i, piece in enumerate(more.piece)]
    return Design(
        desk=desk,
        place=(),
        pieces=_pieces(placed),
        cuts=table.cut,
        notions=table.notion,
        tables=tuple(placed),
    )


def _pieces(placed: Iterable[PlacedTable]) -> dict[str, Piece]:
    pieces: dict[str, Piece] = {}
    stems: dict[str, str] = {}
    for table, place, desk in placed:
        refuse_clash(table.name, (*place, "name"), "piece", desk, stems=stems)
        pieces[table.name] = piece_from(table, place, desk)
    return pieces


def bags_of(
    table: JobTable, desk: Desk, *, materials: dict[str, Material]
) -> tuple[tuple[Bag, ...], tuple[PiecePlace, ...]]:
    """Return the bags of a job and where their pieces stand.

    Materials that only the bags' own files have are added to `materials`.
    """
    own = _design(table, desk)
    if not table.bag:
        if table.job.bags is None:
            desk.assume("one bag is made")
        only = _bag(own, materials, name=table.job.name, count=table.job.bags or 1)
        return (only,), own.places
    if table.job.bags is not None:
        raise desk.error(
            "the bags have their own counts", ("job", "bags"), hint="give count in each [[bag]]"
        )
    if own.cuts and all(bag.file or bag.piece or bag.cut for bag in table.bag):
        raise desk.error(
            "the cutting list outside the bags is not used by any bag",
            ("cut",),
            hint="move it into a [[bag]], or add a [[bag]] without its own",
        )
    if own.notions and all(bag.file or bag.piece or bag.cut or bag.notion for bag in table.bag):
        raise desk.error(
            "the notions outside the bags are not used by any bag",
            ("notion",),
            hint="move them into a [[bag]], as [[bag.notion]]",
        )
    refuse_clashes([(bag.name, ("bag", i)) for i, bag in enumerate(table.bag)], "bag", desk)
    designs = [
        _design_of(bag, ("bag", i), desk, own=own, materials=materials)
        for i, bag in enumerate(table.bag)
    ]
    bags = []
    for i, (bag, design) in enumerate(zip(table.bag, designs, strict=True)):
        _check_roles(bag, ("bag", i), desk, materials=materials, design=design)
        bags.append(_bag(design, materials, name=bag.name, count=bag.count, roles=bag.materials))
    places = dict.fromkeys(place for design in designs for place in design.places)
    return tuple(bags), tuple(places)


def _design_of(
    bag: BagTable, place: Place, desk: Desk, *, own: Design, materials: dict[str, Material]
) -> Design:
    if bag.file is None:
        if not (bag.piece or bag.cut):
            return own if not bag.notion else replace(own, notions=bag.notion)
        placed = [(piece, (*place, "piece", i), desk) for i, piece in enumerate(bag.piece)]
        return Design(
            desk=desk,
            place=place,
            pieces={**own.pieces, **_pieces(placed)},
            cuts=bag.cut,
            notions=bag.notion,
            tables=(*own.tables, *placed),
        )
    if bag.piece or bag.cut:
        raise desk.error("the bag has a file and pieces of its own", place, hint="choose one")
    path = desk.path(bag.file, (*place, "file"))
    with desk.at((*place, "file")):
        other = open_file(
            path, resolver=desk.resolver, assumptions=desk.assumptions, spoken=desk.amounts
        )
        inner = job_table(other)
        other = in_its_size(inner.job, other)
    if inner.bag:
        raise desk.error(
            "a bag's file can't list bags itself", (*place, "file"), hint="list them all here"
        )
    for name, material in materials_of(inner, other).items():
        materials.setdefault(name, material)
    design = _design(inner, other)
    return replace(design, notions=[*design.notions, *bag.notion])


def _check_roles(
    bag: BagTable, place: Place, desk: Desk, *, materials: Mapping[str, Material], design: Design
) -> None:
    used = {word for cut in design.cuts for word in cut.material}
    for role, name in bag.materials.items():
        there = (*place, "materials", role)
        if role not in used:
            near = nearest(role, used)
            raise desk.error(
                f'no line of the cutting list uses "{role}"',
                there,
                hint=f'did you mean "{near}"?' if near else None,
            )
        if name not in materials:
            raise desk.unknown("material", name, there, known=materials)


def _bag(
    design: Design,
    materials: Mapping[str, Material],
    *,
    name: str,
    count: int,
    roles: Mapping[str, str] | None = None,
) -> Bag:
    desk, roles = design.desk, roles or {}
    place = (*design.place, "cut")
    if not design.cuts:
        raise desk.error(f"the cutting list of {name} is empty", design.place, hint="add a [[cut]]")
    bench = Bench(pieces=design.pieces, materials=materials, roles=roles)
    cuts = cuts_from(design.cuts, place, desk, bench=bench)
    used = {cut.piece for cut in cuts}
    for table, there, other in design.tables:
        included = other is not desk
        _check_marks(table, there, other, cuts=cuts, bench=bench, included=included)
        if table.name not in used and not included:
            desk.assume("in no line of the cutting list, so it is not cut", of=table.name)
        if _turned_by_default(table) and (goods := _with_a_way_up(table.name, cuts, materials)):
            desk.assume(
                f"no grain given, so what is right in the drawing is up on {listed(goods)}",
                of=table.name,
                first=True,
            )
    return Bag(
        name=name,
        pieces=tuple(_in_colours(piece, roles) for piece in design.pieces.values()),
        cuts=cuts,
        count=count,
        notions=tuple(
            Notion(name=n.name, quantity=n.quantity, unit=n.unit, price=n.price)
            for n in design.notions
        ),
        colourway=tuple(roles.items()),
    )


def _check_marks(
    table: PieceTable,
    place: Place,
    desk: Desk,
    *,
    cuts: Sequence[Cut],
    bench: Bench,
    included: bool,
) -> None:
    """Refuse marks for materials that don't exist, or for more copies than are cut.

    A file of pieces that several jobs include may have marks for the materials of others.
    """
    mine = [cut for cut in cuts if cut.piece == table.name]
    most = max((cut.copies for cut in mine), default=None)
    if any(_left_out(mark, cut, bench) for mark in table.mark for cut in mine):
        desk.assume(
            "marks for one hand only are left out where a right and a left are cut at once from"
            " two plies: transfer them by hand, as the labels say",
            of=table.name,
            first=True,
        )
    for i, mark in enumerate(table.mark):
        for word in mark.materials or ():
            if bench.material(word) is None:
                known = [*bench.materials, *bench.roles]
                if included and nearest(word, known) is None:
                    continue
                raise desk.unknown("material", word, (*place, "mark", i, "materials"), known=known)
        beyond = max(mark.copies or (1,))
        if most is not None and beyond > most:
            raise desk.error(
                f"no line of the cutting list has {beyond} copies of {table.name}",
                (*place, "mark", i, "copies"),
                hint=f"it has at most {most} per bag",
            )


def _turned_by_default(table: PieceTable) -> bool:
    """Whether nothing but the program says which way round a piece's outline lies."""
    made = table.from_, table.strap, table.binding
    return table.grain is None and all(one is None for one in made)


def _with_a_way_up(
    piece: str, cuts: Sequence[Cut], materials: Mapping[str, Material]
) -> dict[str, None]:
    """Return the materials on which one end of a piece has to be up."""
    return {
        cut.material: None
        for cut in cuts
        if cut.piece == piece and (cut.nap or materials[cut.material].nap) is Nap.ONE_WAY
    }


def _left_out(mark: MarkTable, cut: Cut, bench: Bench) -> bool:
    """Whether a mark is for one hand of a pair that is cut through both plies of folded cloth."""
    material = bench.materials[cut.material]
    if not (cut.pairs and material.folded):
        return False
    words = mark.materials
    here = words is None or any(bench.material(word) is material for word in words)
    return here and mark.hands is not None and len(set(mark.hands)) == 1


def _in_colours(piece: Piece, roles: Mapping[str, str]) -> Piece:
    """Return the piece with its marks for the materials that play the roles."""
    marks = tuple(
        mark
        if mark.materials is None
        else replace(mark, materials=frozenset(roles.get(m, m) for m in mark.materials))
        for mark in piece.marks
    )
    return replace(piece, marks=marks)
