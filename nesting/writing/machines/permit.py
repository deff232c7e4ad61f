"""Whether a machine may be given a material at all."""

from __future__ import annotations

from nesting.errors import MachineError
from nesting.material.material import Material
from nesting.writing.cautions import asked, chlorinated
from nesting.writing.machines.machine import Kind, Machine

__all__ = ["permit"]


def permit(machine: Machine, material: Material, *, sds_read: bool = False) -> None:
    """Refuse to write a laser file for what must not, or not yet, be cut with a laser.

    Passing means only that nothing in the words given speaks against it; it approves
    nothing.

    Parameters
    ----------
    machine, material
        What is to cut what.
    sds_read
        The user's word that the material's safety data sheet was read, and that it,
        the machine's manual and local rules allow laser cutting.

    Raises
    ------
    MachineError
        The material is or may be PVC or otherwise chlorinated (there is no way round
        that), or something about it has to be asked first and `sds_read` is not set.

    """
    if machine.kind is not Kind.LASER:
        return
    name = material.name or "the material"
    if chlorinated(material):
        raise MachineError(
            f"{name} is, or may be, PVC or another chlorinated material: a laser turns it into "
            "hydrogen chloride and other toxic, corrosive fumes",
            file=machine.file,
            field="kind",
            hint="cut it with a blade; if its safety data sheet names another substance, give "
            "that as the material's substance",
        )
    doubts = asked(material)
    if doubts and not sds_read:
        raise MachineError(
            f"{name}: stop and check before laser cutting ({'; '.join(doubts)})",
            file=machine.file,
            field="kind",
            hint="read its safety data sheet and the machine's manual, ask the supplier and those "
            "responsible for safety; then confirm that it was read (sds_read=True)",
        )
