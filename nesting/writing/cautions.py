"""Cautions that go with every report and machine file. They defer; they approve nothing.

There is no list of safe materials here and there must be none: workshops contradict
each other, and only the safety data sheet, the machine's manual and local rules can
say what may be cut how. What is known never to be cut with a laser is said.
"""

from __future__ import annotations

from collections.abc import Iterable

from nesting.material.material import Material
from nesting.writing.machines.substances import doubts, may_be_chlorinated

__all__ = ["ALWAYS", "SCALE", "asked", "cautions", "chlorinated", "laser_cautions"]

ALWAYS = (
    "The machine's manual, the material's safety data sheet and local rules come before "
    "anything on this page. The files hold no power, speed, pressure or depth, and were not "
    "tried on your machine: do a dry run, then a test piece.",
    "Blades: put the guard back each time the knife is put down, cut away from the hand that "
    "holds the ruler, change blunt blades. Wear the hand protection that the manual of the "
    "machine names; do not assume that gloves are right near a powered or turning blade.",
    "Cutting tables move by themselves: keep hands, hair and clothes out of the bed, and the "
    "emergency stop within reach.",
)
"""What is said for every job."""

SCALE = (
    "Check the scale before you cut: the bar in the SVG file, or a part of known size, has to "
    "measure right."
)
"""What is said where the files are not at hand to be measured."""

_LASER = (
    "Laser: check each material's safety data sheet first. Never cut PVC, vinyl or any "
    "chlorinated or unknown faux leather with a laser: it gives off hydrogen chloride and other "
    "toxic, corrosive fumes. Never find out by trying.",
    "Laser: never leave it running alone; extraction on before the start, covers closed, "
    "interlocks untouched, a fire extinguisher at hand.",
)


def chlorinated(material: Material) -> bool:
    """Whether the material's name or substance says that it is, or may be, chlorinated."""
    return may_be_chlorinated(material.name, material.substance)


def asked(material: Material) -> list[str]:
    """Return what about the material has to be asked before a laser goes near it."""
    found = doubts(material.name, material.substance)
    if material.is_leather and not any("leather" in what for what in found):
        found.append("leather whose tannage is not known, or chrome-tanned")
    return found


def laser_cautions(materials: Iterable[Material]) -> tuple[str, ...]:
    """Return what a laser shop has to be told about these materials."""
    said = list(_LASER)
    for material in materials:
        name = f"{material.name}: " if material.name else ""
        if chlorinated(material):
            said.append(
                f"{name}its name says that it is or may be chlorinated (PVC, vinyl). Do not cut "
                "it with a laser."
            )
        elif questions := asked(material):
            said.append(
                f"{name}ask the supplier and read the safety data sheet before any laser "
                f"cutting ({'; '.join(questions)}). Many workshops do not allow it."
            )
    return tuple(said)


def cautions(materials: Iterable[Material]) -> tuple[str, ...]:
    """Return the cautions for a job: blades always, lasers because any file may reach one."""
    return (*ALWAYS, SCALE, *laser_cautions(materials))
