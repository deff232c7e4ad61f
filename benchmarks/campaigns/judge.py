"""Random lays, each judged by `nesting.check` and by an exact second judge.

Run ``python -m benchmarks.campaigns.judge --size N --seed S [--json FILE]``.

Half of the lays are legal as they are built: parts in rows, as near as the spacing lets
them. The others have one known fault (or, one in eight, are scattered). Wrong is: a fault
that the second judge is sure of and `check` doesn't tell (a false "good"), one that `check`
tells and surely isn't there, an amount that differs, and a planted fault that either of the
two doesn't see. What is let pass stands at the top of nesting/marker/check.py.
"""

from __future__ import annotations

import math
import random
from collections.abc import Iterator

from nesting import Finding, check

from .lays import Trial, trial
from .row import Tally, options
from .second import Verdict, verdicts

__all__ = ["compared", "main", "run"]

_CONTACT = frozenset({"overlap", "gap"})


def compared(one: Trial) -> Iterator[str]:
    """Yield what the two judges differ about, a line each."""
    told: dict[tuple[str, frozenset[str]], list[Finding]] = {}
    for finding in check(one.marker):
        if finding.severity.value == "fault":
            told.setdefault(_key(finding.kind, frozenset(finding.parts)), []).append(finding)
    sure: dict[tuple[str, frozenset[str]], Verdict] = {}
    for verdict in verdicts(one.marker, one.drawn):
        sure[_key(verdict.kind, verdict.parts)] = verdict
    for key, verdict in sure.items():
        found = told.get(key)
        if verdict.surely and not found:
            yield f"false good: {verdict}"
        if verdict.surely and found and not any(f.kind == verdict.kind for f in found):
            yield f"told as {found[0].kind}: {verdict}"
        if found and verdict.exact is not None and verdict.surely:
            amount = max(f.amount or 0.0 for f in found)
            if abs(amount - verdict.exact) > verdict.blur:
                yield f"amount {amount:.6g}: {verdict}"
        elif found and math.inf > verdict.least and verdict.surely:
            amount = max(f.amount or 0.0 for f in found)
            if 1.003 * amount + verdict.blur < verdict.least:
                yield f"amount {amount:.6g} too little: {verdict}"
    for key, found in told.items():
        if key not in sure or sure[key].surely_not:
            yield f"false fault: {found[0].kind}: {found[0].text}"
    if one.planted is not None:
        kinds = {f.kind for findings in told.values() for f in findings}
        if one.planted not in kinds:
            yield f"planted {one.planted} isn't told, but {sorted(kinds)}"
        seen = {v.kind for v in sure.values() if v.surely}
        if one.planted not in seen:
            yield f"planted {one.planted} isn't seen by the second judge, but {sorted(seen)}"
    elif one.legal and told:
        yield f"legal by construction, told: {[f[0].text for f in told.values()]}"


def _key(kind: str, parts: frozenset[str]) -> tuple[str, frozenset[str]]:
    return ("contact" if kind in _CONTACT else kind), parts


def run(size: int, seed: int) -> Tally:
    """Judge so many lays."""
    tally = Tally("judge", seed)
    for k in range(size):
        one = trial(random.Random(f"{seed}/{k}"))
        tally.tried["lays"] += 1
        tally.tried["parts"] += len(one.marker.placements)
        tally.found[one.planted or ("legal" if one.legal else "scattered")] += 1
        tally.faults += [f"lay {seed}/{k}: {line}" for line in compared(one)]
    return tally


def main() -> int:
    """Run the campaign."""
    asked = options("Lays judged twice.", size=1000).parse_args()
    return run(asked.size, asked.seed).tell(asked.json)


if __name__ == "__main__":
    raise SystemExit(main())
