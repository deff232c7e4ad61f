"""A job as everybody who has its pattern makes it: one of each bag, from goods that are bought."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from nesting.amounts import Amounts
from nesting.errors import JobError
from nesting.job.job import Bag, CuttingTable, Job
from nesting.material.material import Cloth, Material, Nap, Width
from nesting.pattern.variants.symmetry import maps_on_itself
from nesting.quantity import Unit

__all__ = ["USUAL_WIDTHS", "for_everybody", "top_unknown", "usual_widths"]

USUAL_WIDTHS = {1100.0: 44, 1370.0: 54, 1500.0: 60}
"""Widths (mm) that cloth is usually had in, and in how many inches it is sold that is no narrower:
shops and blogs that name them are katieskitchenblog (44, 54, 60 in) and isewedthis.wordpress.com;
in cm common practice, no source."""

_NEAR = 30.0
"""A usual width is no other than one of the job's that is as near (mm; own choice)."""


def for_everybody(job: Job) -> Job:
    """Return a job for one of each bag, without what only its maker has.

    Left-overs and lengths at hand, held parts, the cutting table and the bed are hers; hides
    stay, for leather is laid on something.
    """
    return replace(
        job,
        bags=_one_each(job.bags),
        graded=tuple((size, _one_each(bags)) for size, bags in job.graded),
        materials=tuple(_bought(material) for material in job.materials),
        table=CuttingTable(),
        at_hand=(),
        held=(),
    )


def _one_each(bags: Sequence[Bag]) -> tuple[Bag, ...]:
    return tuple(replace(bag, count=1) for bag in bags)


def _bought(goods: Material) -> Material:
    if goods.taken_in is Unit.LENGTH:
        on_sale = tuple(width for width in goods.widths if width.on_sale)
        return replace(
            goods,
            widths=on_sale or goods.widths,
            longest=None,
            rolls=(),
            roll_widths=(),
            remnants=(),
        )
    if goods.taken_in is Unit.SHEETS:
        return replace(goods, count=None, at_hand=0, remnants=())
    whole = tuple(hide for hide in goods.hides if not hide.remnant)
    return replace(goods, hides=whole or goods.hides)


def usual_widths(
    cloth: Cloth, asked: Sequence[float] | None = None, *, amounts: Amounts
) -> tuple[Width, ...]:
    """Return the widths that a cloth is asked for in, narrow ones first.

    Those `asked` for (mm, booked); without them its own and the usual ones. A width that the
    job does not know has the selvedges of the cloth's first width.

    Raises
    ------
    JobError
        A width that was asked for leaves nothing inside the selvedges.

    """
    known = {width.booked: width for width in cloth.widths}
    edges = cloth.widths[0].booked - cloth.widths[0].usable
    for booked in asked or ():
        if booked <= edges:
            raise JobError(
                f"a width of {amounts.setting(booked)} leaves nothing of {cloth.name} inside the"
                " selvedges"
            )
    if asked is None:
        more = [w for w in USUAL_WIDTHS if all(abs(w - own) > _NEAR for own in known)]
        asked = (*known, *more)
    found = [known.get(w) or Width(booked=w, usable=w - edges) for w in dict.fromkeys(asked)]
    return tuple(sorted(found, key=lambda width: width.booked))


def top_unknown(job: Job, cloth: Cloth) -> tuple[str, ...]:
    """Return the pieces cut from a cloth of which nobody knows which end is up."""
    found: dict[str, None] = {}
    for bag in job.bags:
        pieces = {piece.name: piece for piece in bag.pieces}
        for cut in bag.cuts:
            piece = pieces[cut.piece]
            if cut.material != cloth.name or piece.up_known or cut.nap not in (None, Nap.ONE_WAY):
                continue
            if not maps_on_itself(piece, 180.0, marks=True):
                found[piece.name] = None
    return tuple(found)
