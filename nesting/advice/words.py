"""Advice in words, in the job's units."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from nesting.advice.advise import BASE_SEEDS, Advice, AsItIs, Proposal
from nesting.advice.change import Kind
from nesting.advice.trials import RARELY
from nesting.amounts import Amounts
from nesting.names import listed
from nesting.quantity import Unit
from nesting.search.squeezing.chain import Chain, Hold

__all__ = ["Advised", "advised", "base_words", "chain_rows", "chain_words", "criterion"]

_SMALL = 0.05
"""A part whose mm gives less (mm) is not named among what holds the length."""

_MOST = 6
"""So many parts of a chain are named in a sentence."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Advised:
    """One proposal in words: `saves` in goods, `money` (empty without prices), what to write."""

    material: str
    what: str
    saves: str
    money: str
    write: str
    beware: str


def base_words(one: AsItIs, amounts: Amounts, *, currency: str) -> str:
    """Say what a material needs as the job has it, and how much that differs between seeds."""
    needed = [laid.needed for laid in one.laid]
    least, most = min(needed, key=lambda q: q.value), max(needed, key=lambda q: q.value)
    best = min(one.laid, key=lambda laid: laid.needed.value)
    seeds = f"{len(needed)} seeds" if len(needed) > 1 else "1 seed"
    spread = f" in {seeds}"
    if amounts.taken(most) != amounts.taken(least):
        spread = f" to {amounts.taken(most)} in {seeds}"
    words = (
        f"{one.material}: needs {amounts.taken(least)}{spread}, buys {amounts.said(best.to_buy)}"
    )
    if best.cost is not None:
        words += f", {_money(best.cost, currency)}"
    return words


def chain_words(chain: Chain) -> str:
    """Say what holds a marker's length."""
    parts = chain.marker.lay.parts
    held = [parts[share.part] for share in chain.shares if share.along >= _SMALL]
    held = held or [parts[share.part] for share in chain.shares]
    named = [part.name for part in held]
    more = f" and {len(named) - _MOST} more" if len(named) > _MOST else ""
    said = f"its length is held by {listed(named[:_MOST])}{more}"
    if len(chain.shares) == 1:
        said += ", which reaches from one end to the other"
    rules = [*_rules(chain)]
    return f"{said}; {'; '.join(rules)}" if rules else said


def _rules(chain: Chain) -> Iterator[str]:
    """Yield the rules that the chain leans on."""
    parts = chain.marker.lay.parts
    held = [parts[share.part] for share in chain.shares if share.along >= _SMALL]
    if held and all(part.one_way for part in held):
        yield "the nap lets none of them be turned"
    elif held and all(part.grain and part.turns.slack < 90.0 for part in held):
        yield "all of them lie to the grain"
    if names := [parts[i].name for i in chain.by(Hold.PRINT)]:
        yield f"the print holds {listed(names)}"
    if names := [parts[i].name for i in chain.by(Hold.HAND)]:
        yield f"held by hand: {listed(names)}"


def chain_rows(chain: Chain) -> list[list[str]]:
    """Return what a bit less gives: of each part of the chain, of the room between, the width.

    Of 1 that is taken away, so much: the same in any unit, for small amounts.
    """
    rows = [
        [
            chain.marker.lay.parts[share.part].name
            + (", aslant: of itself" if share.aslant else ""),
            _ratio(share.along),
            _ratio(share.across),
        ]
        for share in chain.shares
        if max(share.along, share.across) >= _SMALL
    ]
    if chain.closer is not None and chain.closer >= _SMALL:
        rows.append(["room between all parts", _ratio(chain.closer), ""])
    if chain.wider >= _SMALL:
        rows.append(["goods wider by as much", "", _ratio(chain.wider)])
    return rows


def _ratio(gain: float) -> str:
    return f"{gain:.2f}" if gain >= _SMALL else "–"


def advised(one: Proposal, advice: Advice) -> Advised:
    """Return a proposal in words."""
    amounts, currency = advice.job.amounts, advice.job.currency
    saved, change = one.saved, one.change
    if saved.unit == Unit.LENGTH:
        saves = f"about {amounts.size(saved.about)}, surely {amounts.room(max(saved.least, 0.0))}"
    else:
        saves = f"about {amounts.area(saved.about)}, surely {amounts.area(max(saved.least, 0.0))}"
    money = ""
    if saved.bought.value > 0.0:
        saves += f"; {amounts.said(saved.bought)} less to buy"
    elif saved.unit == Unit.LENGTH:
        saves += "; no step less to buy"
    if saved.cost is not None and saved.cost > 0.0:
        money = _money(saved.cost, currency)
    beware = change.beware
    if change.kind is Kind.BAG:
        beware = f"counted against as many bags one by one; {beware}"
    return Advised(
        material=change.material,
        what=change.what,
        saves=saves,
        money=money,
        write=change.write,
        beware=beware,
    )


def criterion(advice: Advice) -> str:
    """Say when a saving is called certain."""
    changes = "1 change" if advice.tried == 1 else f"all {advice.tried} changes"
    return (
        f"certain: each of {advice.seeds} seeds takes less than every one of {BASE_SEEDS} of the"
        f" job as it is; among {changes} chance alone makes one such in {RARELY} times at most"
        " (rank-sum test, bounds of Holm)"
    )


def _money(cost: float, currency: str) -> str:
    return f"{cost:.2f} {currency}".rstrip()
