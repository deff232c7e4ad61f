"""What is kept of an advice: the best of it, in words."""

from __future__ import annotations

from nesting.advice.advise import Advice
from nesting.advice.kept import KeptAdvice, KeptMaterial, KeptProposal, job_mark, kept_adapter
from nesting.advice.words import advised, base_words, chain_words

__all__ = ["kept", "kept_text"]

BEST = 3
"""So many proposals are kept."""


def kept(advice: Advice) -> KeptAdvice:
    """Return what is kept of an advice."""
    job = advice.job
    words = [advised(one, advice) for one in advice.proposals]
    return KeptAdvice(
        job=job_mark(job),
        materials=tuple(
            KeptMaterial(
                name=one.material,
                needs=base_words(one, job.amounts, currency=job.currency),
                held="" if one.chain is None else chain_words(one.chain),
            )
            for one in advice.as_it_is
        ),
        best=tuple(
            KeptProposal(
                material=one.material, what=one.what, saves=one.saves, money=one.money,
                write=one.write, beware=one.beware,
            )
            for one in words[:BEST]
        ),
        more=max(0, len(words) - BEST),
    )  # fmt: skip


def kept_text(advice: Advice) -> str:
    """Return the text of the file."""
    return kept_adapter().dump_json(kept(advice), indent=1).decode() + "\n"
