"""The picture of goods on a page that is alive: where it lies there, and by what it is fetched."""

from __future__ import annotations

import base64
from collections.abc import Iterable, Iterator
from functools import lru_cache
from hashlib import sha256
from typing import TYPE_CHECKING

from nesting.errors import JobError
from nesting.pattern.affine import Affine
from nesting.pattern.svg_path import format_path
from nesting.writing.neutral.drawing import Shown

if TYPE_CHECKING:
    from nesting.material.material import Material
    from nesting.material.picture import Picture
    from nesting.planning.plan import Entry

__all__ = ["live_shown", "picture_called", "picture_name"]

Json = dict[str, object]

_DOWN = Affine.mirror()


def live_shown(shown: Shown | None) -> Json | None:
    """Return where a picture of goods lies, mm, y downwards; None if there is none.

    ``is``: what `picture_called` finds it by. ``size``: how long and high it is, ``places``: its
    upper left corners, ``tile``: how long and high the part is that comes again and again (null:
    it does not), all in its own axes, which ``matrix`` maps to the page's as SVG writes it.
    ``within``: path data of all that it is shown on.
    """
    if shown is None:
        return None
    to = _DOWN.after(shown.place)
    return {
        "is": picture_name(shown.picture),
        "size": list(shown.picture.size),
        "places": [list(place) for place in shown.places],
        "tile": None if shown.tile is None else list(shown.tile),
        "matrix": [to.a, to.c, to.b, to.d, to.e, to.f],
        "within": " ".join(format_path(path.transformed(_DOWN)) for path in shown.within),
    }


def picture_name(picture: Picture) -> str:
    """Return what a picture is asked for by: no other has it."""
    return _named(picture.data)


@lru_cache(maxsize=16)
def _named(data: str) -> str:
    return sha256(data.encode()).hexdigest()[:24]


def picture_called(name: str, entries: Iterable[Entry]) -> tuple[str, bytes]:
    """Return the kind of a picture of the goods of some markers, and its bytes.

    Raises
    ------
    JobError
        None is called so.

    """
    for entry in entries:
        for picture in _pictures(entry.material):
            if picture_name(picture) == name:
                return picture.kind, base64.b64decode(picture.data)
    raise JobError("the goods have no such picture any more", hint="load the page again")


def _pictures(material: Material) -> Iterator[Picture]:
    motif = material.print
    found = [None if motif is None else motif.picture, *(hide.picture for hide in material.hides)]
    yield from (picture for picture in found if picture is not None)
