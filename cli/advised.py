"""What is told machines of what would save; units are those of `records`."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from nesting.quantity import Quantity

if TYPE_CHECKING:
    from nesting.advice.advise import Advice, AsItIs, Proposal
    from nesting.advice.change import Change

__all__ = ["AdviceResult", "AsItIsRecord", "ChainRecord", "ChangeRecord", "advice_result"]


@dataclass(frozen=True, slots=True, kw_only=True)
class ChainRecord:
    """A part that holds a marker's length: how much shorter that is for each mm less of it.

    `along`, `across`: the goods, as the part lies.
    """

    part: str
    along: float
    across: float


@dataclass(frozen=True, slots=True, kw_only=True)
class AsItIsRecord:
    """A material as the job has it: what each seed needs, in `unit`, and what holds its length.

    `wider`: how much shorter the marker is for each mm that the goods are wider; `closer`: for each
    mm less between parts. Null where it is not known, as on sheets.
    """

    material: str
    unit: str
    needed: tuple[Quantity, ...]
    good: bool
    chain: tuple[ChainRecord, ...]
    wider: float | None
    closer: float | None


@dataclass(frozen=True, slots=True, kw_only=True)
class ChangeRecord:
    """A change. `certain`: null where it was not laid; `why`: why it wasn't, or saves nothing.

    `about`, `least`: what it saves, by the medians and by its worst seed, in `unit` ("mm" or
    "mm²"); `bought`: how much less is bought, in the unit of the material; `cost` of that.
    """

    material: str
    kind: str
    what: str
    write: str
    beware: str
    certain: bool | None
    why: str
    unit: str
    about: float | None
    least: float | None
    bought: float | None
    cost: float | None
    needed: tuple[Quantity, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class AdviceResult:
    """What would save: `changes` that do stand first, the best before the others.

    `files`: what was written.
    """

    materials: tuple[AsItIsRecord, ...]
    changes: tuple[ChangeRecord, ...]
    files: tuple[str, ...]


def advice_result(advice: Advice, *, files: tuple[str, ...]) -> AdviceResult:
    """Return what is told of what would save."""
    changes = [_proposed(one, sure=True) for one in advice.proposals]
    changes += [_proposed(one, sure=False) for one in advice.open]
    changes += [_not_proposed(one, "no saving beyond chance") for one in advice.vain]
    changes += [_not_proposed(one, why) for one, why in advice.left_out]
    changes += [_not_proposed(one, "no time") for one in advice.untried]
    return AdviceResult(
        materials=tuple(map(_as_it_is, advice.as_it_is)), changes=tuple(changes), files=files
    )


def _as_it_is(one: AsItIs) -> AsItIsRecord:
    chain = one.chain
    shares = () if chain is None else chain.shares
    return AsItIsRecord(
        material=one.material,
        unit=one.laid[0].needed.unit,
        needed=tuple(laid.needed for laid in one.laid),
        good=all(laid.good for laid in one.laid),
        chain=tuple(
            ChainRecord(part=name, along=share.along, across=share.across)
            for name, share in zip(() if chain is None else chain.names, shares, strict=True)
        ),
        wider=None if chain is None else chain.wider,
        closer=None if chain is None else chain.closer,
    )


def _proposed(one: Proposal, *, sure: bool) -> ChangeRecord:
    return replace(
        _not_proposed(one.change, ""),
        certain=sure,
        unit=one.saved.unit,
        about=one.saved.about,
        least=one.saved.least,
        bought=one.saved.bought.value,
        cost=one.saved.cost,
        needed=tuple(laid.needed for laid in one.laid),
    )


def _not_proposed(change: Change, why: str) -> ChangeRecord:
    return ChangeRecord(
        material=change.material,
        kind=change.kind.value,
        what=change.what,
        write=change.write,
        beware=change.beware,
        certain=None,
        why=why,
        unit="",
        about=None,
        least=None,
        bought=None,
        cost=None,
        needed=(),
    )
