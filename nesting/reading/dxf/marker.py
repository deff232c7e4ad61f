"""Markers that this program wrote, read as patterns: what their layers are for.

Their layers are named for what is done (see `nesting.writing.dxf`). Among them is EDGE, what the
parts are laid on: in any other drawing a layer of that name may hold the outlines.
"""

from __future__ import annotations

from collections.abc import Iterable

from nesting.reading.items import Role

__all__ = ["marker_roles"]

_BASE = {
    "CUT": Role.CUT,
    "NOTCH": Role.NOTCH,
    "DRILL": Role.DRILL,
    "MARK": Role.LINE,
    "TEXT": Role.TEXT,
    "SEW": Role.SEW,
    "MATCH": Role.IGNORE,
    "EDGE": Role.IGNORE,
}
_INNER, _UNDER = "-INNER", "-UNDERSIDE"


def marker_roles(layers: Iterable[str]) -> dict[str, Role]:
    """Return what the layers of a marker are for, by their folded names; none of other files.

    A file is a marker if it has what parts are laid on and their outlines, and no layer that
    markers don't have.
    """
    names = set(layers)
    roles = {name: _role(name) for name in names}
    if not {"CUT", "EDGE"} <= names or None in roles.values():
        return {}
    return {name.casefold(): role for name, role in roles.items() if role is not None}


def _role(name: str) -> Role | None:
    if name.endswith(_INNER):
        return Role.HOLE if name == f"CUT{_INNER}" else None
    return _BASE.get(name.removesuffix(_UNDER))
