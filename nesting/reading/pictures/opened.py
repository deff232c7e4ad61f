"""From a file to a flat picture, by what people say gives its scale."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

from nesting.bounded import bytes_of
from nesting.errors import PatternError
from nesting.limits import LARGEST_PICTURE
from nesting.reading.pictures.flat import Flat, flatten
from nesting.reading.pictures.picture import read_picture
from nesting.reading.pictures.references.reference import parse_reference

__all__ = ["flat_of"]


def flat_of(file: Path, said: Sequence[str]) -> Flat:
    """Read a picture and make it flat.

    Raises
    ------
    PatternError
        It can't be read, or nothing gives its scale.

    """
    references = [parse_reference(one) for one in said]
    data = bytes_of(file, most=LARGEST_PICTURE, what="a photograph", error=PatternError)
    try:
        return flatten(read_picture(data), references)
    except PatternError as error:
        raise error.located(file=str(file)) from error
