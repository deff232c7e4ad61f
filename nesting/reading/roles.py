"""What the user says that layers, classes, labels and colours are for."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping

from nesting.errors import PatternError
from nesting.reading.items import Role
from nesting.reading.raw_pattern import printable

__all__ = ["parse_roles", "roles_there"]


def parse_roles(given: Mapping[str, str] | None) -> dict[str, Role]:
    """Return the roles by the names they are said of."""
    out = {}
    for name, word in (given or {}).items():
        try:
            out[name] = Role(word)
        except ValueError:
            known = ", ".join(role.value for role in Role)
            raise PatternError(
                f"unknown role {word!r} for {name!r}", field="roles", hint=f"one of {known}"
            ) from None
    return out


def roles_there(
    roles: Mapping[str, Role],
    names: Iterable[str],
    *,
    what: str,
    fold: Callable[[str], str] = str.casefold,
) -> dict[str, Role]:
    """Return the roles by folded name; refuse those of a `what` that isn't in the file."""
    if not roles:
        return {}
    there: dict[str, str] = {}
    for name in names:
        there.setdefault(fold(name), name)
    for name in roles:
        if fold(name) not in there:
            known = ", ".join(printable(n)[:40] for n in list(there.values())[:12])
            raise PatternError(
                f"nothing in it has the {what} {name[:60]!r}",
                field="roles",
                hint=f"it has {known}" if known else "it names none",
            )
    return {fold(name): role for name, role in roles.items()}
