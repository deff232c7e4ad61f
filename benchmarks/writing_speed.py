"""How long a marker of 1,000 parts takes to be written in every format.

Run ``python -m benchmarks.writing_speed [parts]``. The order of cutting is left at its
first guess here; what improving it costs is measured by ``cutting_order.py``.
"""

from __future__ import annotations

import argparse
from dataclasses import replace
from pathlib import Path
from tempfile import TemporaryDirectory
from time import perf_counter, process_time

from benchmarks.cutting_order import LASER, invented
from nesting.material.material import Cloth, Width
from nesting.writing.dxf import write_dxf
from nesting.writing.machines.files import write_machine_file
from nesting.writing.machines.formats import Format
from nesting.writing.paper.papers import PAPERS, roll
from nesting.writing.paper.print_pdf import print_drawings
from nesting.writing.svg import write_svg


def main() -> None:
    """Print a table."""
    asked = argparse.ArgumentParser(description=__doc__)
    asked.add_argument("parts", type=int, nargs="?", default=1000, help="(1000)")
    parts = asked.parse_args().parts
    drawing = invented(parts, details=True)
    cloth = Cloth(name="invented", substance="cotton", widths=(Width(booked=1450, usable=1400),))
    laser = replace(LASER, reads=tuple(Format), kerf=0.2, long_coordinates=True, curves=True)
    print("| file | seconds |")
    print("|---|---|")
    whole, used = perf_counter(), process_time()
    with TemporaryDirectory() as folder:
        begun = perf_counter()
        file = Path(folder) / "machine"
        forms = tuple(Format)
        write_machine_file(drawing, laser, file, material=cloth, forms=forms, rounds=0)
        print(f"| machine: {', '.join(forms)} | {perf_counter() - begun:.1f} |")
        for name, write in (("plain dxf", write_dxf), ("plain svg", write_svg)):
            begun = perf_counter()
            write(drawing, Path(folder) / f"{name}.{name[-3:]}")
            print(f"| {name} | {perf_counter() - begun:.1f} |")
        for paper in (PAPERS["a4"], roll(1500.0)):
            begun = perf_counter()
            (tiling,) = print_drawings([drawing], Path(folder) / f"{paper.name}.pdf", paper=paper)
            sheets = len(tiling.tiles)
            print(f"| print, {sheets} × {paper.name} | {perf_counter() - begun:.1f} |")
    print(f"| all | {perf_counter() - whole:.1f} |")
    print(f"| all, of the processor's time | {process_time() - used:.1f} |")


if __name__ == "__main__":
    main()
