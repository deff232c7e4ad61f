"""Random orders: a random job of one or two bags, some of each, and a table to cut them on."""

from __future__ import annotations

import tomllib
from random import Random

from .job import made_job
from .toml import Table, toml

__all__ = ["made_order"]


def made_order(rng: Random) -> dict[str, str]:
    """Return the files of a random order by name; ``job.toml`` is the order."""
    files = made_job(rng)
    job = tomllib.loads(files["job.toml"])
    job["table"] = _table(rng, job["job"].get("unit", "mm"))
    for bag in job.get("bag", []):
        bag["count"] = rng.randint(1, 4)
    if "bag" not in job:
        job["job"]["bags"] = rng.randint(1, 6)
    for cloth in job.get("cloth", []):
        if rng.random() < 0.2:
            cloth["thickness"] = "0.8 mm"
        if rng.random() < 0.3:
            cloth["rolls"] = [f"{rng.randint(40, 250)} cm" for _ in range(rng.randint(1, 3))]
    files["job.toml"] = toml(job)
    return files


def _table(rng: Random, unit: str) -> Table:
    """Return the cutting table."""
    table: Table = {"plies": rng.choice((1, 2, 3, 4, 6)), "bags": rng.randint(1, 4)}
    if rng.random() < 0.3:
        table["spreading"] = "face to face"
    if rng.random() < 0.3:
        table["over"] = rng.randint(1, 2)
    if rng.random() < 0.25:
        table["length"] = rng.choice(("1.5 m", "2.5 m", "1.9 yd" if unit == "in" else "4 m"))
    if rng.random() < 0.2:
        table["height"] = rng.choice(("2.5 mm", "5 mm"))
    if rng.random() < 0.1:
        table["bed"] = ["2 m", "1.6 m"]
    if rng.random() < 0.4:
        table["splice"] = rng.choice(("5 cm", "20 cm", "50 cm"))
    for key in ("spread_cost", "marker_cost"):
        if rng.random() < 0.2:
            table[key] = "10 cm"
    return table
