"""Random machines to cut a job with, as the text of a machine file."""

from __future__ import annotations

from random import Random

__all__ = ["made_machine"]

_TOOLS = ("mark", "text", "drill", "notch", "cut")


def made_machine(rng: Random) -> str:
    """Return a machine file: a laser, a knife or a pen on a bed that mostly is large enough."""
    kind = rng.choice(("laser", "laser", "oscillating knife", "plotter"))
    reads = rng.sample(("svg", "dxf", "dxf-r12", "hpgl"), 4)
    lines = ['name = "Made at random"', f'kind = "{kind}"']
    lines.append(f"reads = [{', '.join(repr(form) for form in reads)}]".replace("'", '"'))
    if kind == "laser":
        lines.append(f"kerf = {rng.choice((0.1, 0.2, 0.35))}")
    lines += [
        f"curves = {rng.choice(('true', 'false'))}",
        f"chord = {rng.choice((0.01, 0.05))}",
        f"long_coordinates = {rng.choice(('true', 'true', 'false'))}",
        "",
        "[bed]",
        f"length = {rng.choice((1000.0, 2500.0, 6000.0))}",
        f"width = {rng.choice((900.0, 1600.0, 1600.0))}",
        f"drops_parts = {rng.choice(('true', 'false'))}",
    ]
    left_out = rng.choice((None, None, "text", "mark", "notch", "drill"))
    for pen, tool in enumerate(_TOOLS, start=1):
        if tool != left_out:
            lines += ["", f"[tools.{tool}]", f'tool = "{tool}"', f'layer = "L{pen}"']
            lines += [f"pen = {pen}", f'colour = "#0000{40 * pen:02x}"']
    return "\n".join([*lines, ""])
