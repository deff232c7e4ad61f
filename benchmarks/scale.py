"""How time and memory grow with the order: 10 to 200 bags, 250 to 5,000 parts.

    python -m benchmarks.scale [--bags 10 25 50 100 200] [--seconds 60] [--chart FILE.png]

Each size is planned twice by ``thriftlay order`` in a process of its own: with one round a
search, which is the least that gives a plan and shows how time grows; and in the seconds
asked for. The wall time of the plan and of writing its files, and the largest resident
memory of the command and its workers. The order is two designs in two colours on three
cloths and a sheet, 25 parts a bag.
"""

from __future__ import annotations

import argparse
import json
import os
import subprocess
import sys
import tempfile
import threading
import time
from pathlib import Path

HEAD = """
[job]
name = "{bags} bags"
[table]
length = "4 m"
plies = 10
bags = 8
spread_cost = "5 cm"
[[cloth]]
name = "canvas, moss"
width = "145 cm"
[[cloth]]
name = "canvas, rust"
width = "145 cm"
[[cloth]]
name = "lining"
width = "140 cm"
[[sheet]]
name = "board"
size = ["70 cm", "50 cm"]
[[piece]]
name = "panel"
outline = "M 0,0 L 400,0 C 430,60 430,260 400,320 L 0,320 C -20,220 -20,100 0,0 Z"
[[piece]]
name = "gusset"
outline = "M 0,0 L 350,0 L 300,120 L 40,110 Z"
[[piece]]
name = "pocket"
outline = "M 0,0 L 220,0 L 220,150 C 180,190 40,190 0,150 Z"
[[piece]]
name = "base"
rectangle = [330, 110]
corner_radius = 10
[[piece]]
name = "tab"
rectangle = [90, 40]
corner_radius = 15
"""
BAG = """
[[bag]]
name = "{name}"
count = {count}
  [[bag.cut]]
  piece = "panel"
  material = ["{cloth}", "lining"]
  copies = 2
  [[bag.cut]]
  piece = "gusset"
  material = ["{cloth}", "lining"]
  pairs = true
  [[bag.cut]]
  piece = "pocket"
  material = ["{cloth}", "lining"]
  copies = {pockets}
  [[bag.cut]]
  piece = "base"
  material = "board"
  [[bag.cut]]
  piece = "tab"
  material = "{cloth}"
  copies = {tabs}
"""


def order(bags: int) -> tuple[str, int]:
    """Return a job file for so many bags, and how many parts they have."""
    text, parts = HEAD.format(bags=bags), 0
    kinds = [
        ("day bag, moss", "canvas, moss", 4, 8),
        ("day bag, rust", "canvas, rust", 4, 8),
        ("shopper, moss", "canvas, moss", 2, 12),
        ("shopper, rust", "canvas, rust", 2, 12),
    ]
    for i, (name, cloth, pockets, tabs) in enumerate(kinds):
        count = bags // 4 + (i < bags % 4)
        if count:
            text += BAG.format(name=name, cloth=cloth, count=count, pockets=pockets, tabs=tabs)
            parts += count * (9 + 2 * pockets + tabs)
    return text, parts


def family(pid: int) -> list[int]:
    """Return a process and all that descend from it."""
    found, parents = [pid], {}
    for entry in Path("/proc").glob("[0-9]*"):
        try:
            fields = (entry / "stat").read_text().rpartition(")")[2].split()
            parents[int(entry.name)] = int(fields[1])
        except OSError:
            continue
    for child, parent in sorted(parents.items()):
        if parent in found:
            found.append(child)
    return found


def resident(pids: list[int]) -> float:
    """Return the memory that processes hold together (MB), shared pages once."""
    total = 0.0
    for pid in pids:
        try:
            rollup = Path(f"/proc/{pid}/smaps_rollup").read_text()
        except OSError:
            continue
        total += sum(int(line.split()[1]) for line in rollup.splitlines() if line[:4] == "Pss:")
    return total / 1024.0


def planned(bags: int, *limit: str) -> dict[str, float]:
    """Plan an order in a process of its own and watch it: seconds, and MB."""
    text, _ = order(bags)
    with tempfile.TemporaryDirectory() as folder:
        job, out = Path(folder) / "order.toml", Path(folder) / "out"
        job.write_text(text)
        command = [sys.executable, "-m", "thriftlay", "order", str(job), "--out", str(out)]
        begin = time.perf_counter()
        process = subprocess.Popen(
            [*command, *limit, "--json"],
            stdout=subprocess.PIPE,
            stderr=subprocess.DEVNULL,
            text=True,
        )
        peak = 0.0

        def watch() -> None:
            nonlocal peak
            while process.poll() is None:
                peak = max(peak, resident(family(process.pid)))
                time.sleep(0.5)

        watcher = threading.Thread(target=watch)
        watcher.start()
        said, _ = process.communicate()
        watcher.join()
        wall = time.perf_counter() - begin
        assert process.returncode == 0, f"thriftlay order failed with {process.returncode}"
        spent = json.loads((out / "plan.json").read_text())["plan"]["seconds"]
    good = all(marker["good"] for marker in json.loads(said)["result"]["markers"])
    assert good, "a marker is not good"
    return {"plan": spent, "all": wall, "memory": peak}


_LINES = {
    "least": "planned, one round a search",
    "plan": "planned in the time asked for",
    "all": "with all files written",
}


def draw(rows: list[dict[str, float]], file: Path) -> None:
    """Draw time and memory over the number of parts."""
    from matplotlib.figure import Figure

    figure = Figure(figsize=(8.0, 3.6), layout="constrained", dpi=130)
    time_axes, memory_axes = figure.subplots(1, 2)
    parts = [row["parts"] for row in rows]
    for key, label in _LINES.items():
        time_axes.plot(parts, [row[key] for row in rows], marker="o", label=label)
    time_axes.set(xlabel="parts", ylabel="s", title="Time")
    time_axes.legend()
    memory_axes.plot(parts, [row["memory"] for row in rows], marker="o", color="#b5562b")
    memory_axes.set(xlabel="parts", ylabel="MB", title="Memory, all processes")
    for axes in (time_axes, memory_axes):
        axes.set_ylim(bottom=0)
    figure.savefig(file)


def main() -> None:
    """Plan orders of growing size and print a table."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--bags", type=int, nargs="+", default=[10, 25, 50, 100, 200])
    parser.add_argument("--seconds", type=float, default=60.0)
    parser.add_argument("--chart", type=Path)
    asked = parser.parse_args()
    print("| bags | parts | one round, s | planned, s | all written, s | memory, MB |")
    print("|---|---|---|---|---|---|")
    rows = []
    for bags in asked.bags:
        least = planned(bags, "--rounds", "1")
        row = planned(bags, "--time", f"{asked.seconds:g}s")
        row |= {"bags": bags, "parts": order(bags)[1], "least": least["plan"]}
        row["memory"] = max(row["memory"], least["memory"])
        rows.append(row)
        cells = [f"{row[key]:.0f}" for key in ("bags", "parts", "least", "plan", "all", "memory")]
        print(f"| {' | '.join(cells)} |", flush=True)
    print(f"\nAsked for {asked.seconds:g} s; load {os.getloadavg()[0]:.1f}.")
    if asked.chart:
        draw(rows, asked.chart)


if __name__ == "__main__":
    main()
