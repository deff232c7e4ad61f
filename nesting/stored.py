"""How values of the model stand in files: as a text, as a number, in order, once in a table.

Each gives a schema of pydantic, which is loaded only where something is read or written.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any, TypeVar

__all__ = ["IN_ORDER", "Once", "as_number", "as_text"]

_Schema = Any
_T = TypeVar("_T")


def as_text(*, read: Callable[[str], _T], write: Callable[[_T], str]) -> _Schema:
    """Return the schema of what is a text in a file; what can't be read is a `ValueError`."""
    from pydantic_core import PydanticCustomError, core_schema

    def checked(text: str) -> _T:
        try:
            return read(text)
        except ValueError as error:
            raise PydanticCustomError("stored", "{said}", {"said": str(error)}) from error

    return core_schema.no_info_after_validator_function(
        checked,
        core_schema.str_schema(strict=True),
        serialization=core_schema.plain_serializer_function_ser_schema(
            write, return_schema=core_schema.str_schema()
        ),
    )


def as_number(*, read: Callable[[float], _T], write: Callable[[_T], float]) -> _Schema:
    """Return the schema of what is a number in a file."""
    from pydantic_core import core_schema

    return core_schema.no_info_after_validator_function(
        read,
        core_schema.float_schema(strict=True),
        serialization=core_schema.plain_serializer_function_ser_schema(
            write, return_schema=core_schema.float_schema()
        ),
    )


@dataclass(frozen=True, slots=True)
class Once:
    """What stands in a table of the file once, and elsewhere as its index there.

    The table is the `table` of the context. To be read it is a sequence; to be written an object
    with a method `index` of a value and what gives its plain form. Without one all is in place.
    """

    table: str
    what: str

    def __get_pydantic_core_schema__(self, source: Any, handler: Any) -> _Schema:
        from pydantic_core import PydanticCustomError, core_schema

        def read(index: int, info: Any) -> Any:
            table = (info.context or {}).get(self.table, ())
            if not 0 <= index < len(table):
                raise PydanticCustomError("stored", f"{self.what} {index} is not in the plan")
            return table[index]

        def write(value: Any, plain: Any, info: Any) -> Any:
            table = (info.context or {}).get(self.table)
            return plain(value) if table is None else table.index(value, lambda: plain(value))

        whole = handler(source)
        number = core_schema.int_schema(strict=True)
        row = core_schema.with_info_after_validator_function(read, number)
        return core_schema.union_schema(
            [(row, ""), (whole, "")],  # neither is a step to the place of a mistake
            mode="left_to_right",
            serialization=core_schema.wrap_serializer_function_ser_schema(
                write, schema=whole, info_arg=True
            ),
        )


class _InOrder:
    """A set is written sorted: it comes in no order."""

    def __get_pydantic_core_schema__(self, source: Any, handler: Any) -> _Schema:
        from pydantic_core import core_schema

        schema = handler(source)
        schema["serialization"] = core_schema.plain_serializer_function_ser_schema(sorted)
        return schema


IN_ORDER = _InOrder()
