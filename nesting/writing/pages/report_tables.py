"""The report's cutting list: which parts come from a material, and what to transfer to them."""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping, Sequence

from markupsafe import Markup

from nesting.marker.lay import Part
from nesting.material.material import Grade
from nesting.names import listed
from nesting.pattern.piece import Hand, Mark
from nesting.planning.lying import lying
from nesting.planning.plan import Entry
from nesting.writing.neutral.keys import Keys, keys_of
from nesting.writing.neutral.look import piece_colour
from nesting.writing.neutral.mark_words import marks_in_words
from nesting.writing.pages.markup import Table
from nesting.writing.pages.wording import entry_title

__all__ = ["cutting_list", "zone_sentences", "zone_words"]


def cutting_list(entry: Entry, *, keys: Keys | None = None) -> Table:
    """Return the table of what is cut from a material in one ply of its marker."""
    lay = entry.marker.lay
    keys = keys_of(lay.parts, keys)
    laid = [lay.parts[placement.part] for placement in entry.marker.placements]
    groups: dict[tuple[int, str], list[Part]] = {}
    for part in sorted(laid, key=keys.place_of):
        groups.setdefault((keys.place_of(part), part.variant), []).append(part)
    zones = zone_words(entry)
    rows = [_row(group, keys, zones) for group in groups.values()]
    total = ["", "All", "", str(len(laid)), "", "", "", ""]
    head = ["Key", "Piece", "Variant", "Cut", "Right", "Left", "Lies in", "Marks to transfer"]
    # A column in which nothing is said is left out.
    used = [i for i in range(len(head)) if i < 2 or any(row[i] for row in rows)]
    return Table(
        caption=f"Cutting list of {entry_title(entry)}",
        head=[head[i] for i in used],
        rows=[[row[i] for i in used] for row in rows],
        foot=[[total[i] for i in used]],
        numbers=[place for place, i in enumerate(used) if i in (3, 4, 5)],
        named=1,
    )


def zone_words(entry: Entry) -> dict[str, str]:
    """Return in which zones of its hide each part lies, most of it first, by the part's name.

    Parts on a hide without zones are left out: nothing is known of where they lie.
    """
    marker = entry.marker
    if not entry.material.is_leather:
        return {}
    found = {}
    for one in lying(marker, entry.material):
        words = [f"{zone.name} ({zone.grade})" for zone in one.zones]
        words += [f"no zone ({Grade.D})"] if one.unzoned else []
        found[marker.lay.parts[marker.placements[one.placement].part].name] = listed(words)
    return found


def zone_sentences(entry: Entry) -> list[str]:
    """Return which parts lie in which zones of their hides, a sentence for each zone."""
    held: dict[str, list[str]] = {}
    for name, where in zone_words(entry).items():
        held.setdefault(where, []).append(name)
    return [f"In {where}: {listed(names)}." for where, names in held.items()]


def _lies_in(group: Sequence[Part], zones: Mapping[str, str]) -> str:
    """Return the zones of a row's parts: once if they are the same, else part by part."""
    said = [zones.get(part.name, "") for part in group]
    if len(set(said)) == 1:
        return said[0]
    several = len({part.bag for part in group}) > 1
    words = []
    for part, where in zip(group, said, strict=True):
        hand = f" {part.hand.value}" if part.hand is Hand.LEFT else ""
        bag = f" of bag {part.bag}" if several else ""
        words.append(f"{part.copy}{hand}{bag}: {where or 'no zones drawn'}")
    return "; ".join(words)


def _row(group: list[Part], keys: Keys, zones: Mapping[str, str]) -> list[str]:
    first = group[0]
    colour = piece_colour(keys.place_of(first))
    hands = Counter(part.hand for part in group)
    paired = Hand.LEFT in hands
    return [
        _KEY.format(colour, keys.key(first)),
        keys.title(first),
        first.variant,
        str(len(group)),
        str(hands[Hand.RIGHT]) if paired else "",
        str(hands[Hand.LEFT]) if paired else "",
        _lies_in(group, zones),
        marks_in_words(_marks(group)),
    ]


_KEY = Markup('<span class="key" style="background:{}">{}</span>')


def _marks(group: Sequence[Part]) -> list[Mark]:
    """Return the marks of a row's parts: copies may have others, and so may the other hand."""
    found: dict[tuple[Mark, int], None] = {}
    for part in group:
        number: Counter[Mark] = Counter()
        for mark in part.piece.marks:
            number[mark] += 1
            # What both hands have is drawn mirrored on the other, and told once.
            if part.hand is group[0].hand or (mark.hands is not None and len(mark.hands) == 1):
                found.setdefault((mark, number[mark]))
    return [mark for mark, _ in found]
