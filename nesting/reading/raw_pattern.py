"""What a reader of one format hands on, in the file's own unit; and pieces made of it."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field, replace
from itertools import count

from shapely import Point as ShapelyPoint
from shapely import Polygon

from nesting.amounts import INCH_UNITS, METRIC, Amounts
from nesting.errors import Finding, PatternError, Severity
from nesting.pattern.marks.marked import marks_beyond
from nesting.pattern.measure import bounds, length
from nesting.pattern.path import Affine, Path
from nesting.pattern.piece import Mark, MarkKind, Piece
from nesting.reading.dxf.text_fields import PIECE_KEYS, field_of, key_of, quantity, value_of
from nesting.reading.items import Group, Item, Role, reference_length, role_of, transformed_item
from nesting.reading.pattern_file import CheckLine, Found, Pattern
from nesting.reading.pieces.assemble import outlines
from nesting.reading.pieces.build import build
from nesting.reading.pieces.lettered import places_of_text
from nesting.reading.pieces.spoken import spoken
from nesting.reading.pieces.within import Outline
from nesting.reading.unit.check_square import in_inches
from nesting.reading.unit.extent import largest_size
from nesting.reading.unit.scale import (
    Claim,
    Scale,
    decide_scale,
    fingerprint,
    named_factor,
    size_text,
    unit_factor,
)
from nesting.reading.unit.speech import Speech
from nesting.reading.unit.telling import tellings
from nesting.reading.words import said_by
from nesting.tolerance import TOLERANCE

__all__ = ["Draft", "RawPattern", "SizesError", "drawn_length", "finished", "note"]

LONGEST_NAME = 60
"""Names are cut off here, as they stand on labels."""


_TRUE = 2e-3
"""A scale may differ by so large a share from what a check square says: rounding."""


class SizesError(PatternError):
    """A file has several sizes, and nobody said which; `sizes`: their names."""

    sizes: tuple[str, ...] = ()

    def located(
        self, *, file: str | None = None, field: str | None = None, line: int | None = None
    ) -> SizesError:
        """Return the same with the places filled in that it did not know."""
        found = SizesError(
            self.what,
            file=self.file or file,
            field=self.field or field,
            line=self.line if self.line is not None else line,
            hint=self.hint,
        )
        found.sizes = self.sizes
        return found


@dataclass(slots=True, kw_only=True)
class Draft:
    """A group of items that is one piece or several, and the text fields that go with it."""

    group: Group
    fields: list[tuple[str, str]] = field(default_factory=list)
    name: str = ""
    right: int | None = None
    left: int | None = None
    line: int | None = None


@dataclass(slots=True, kw_only=True)
class RawPattern:
    """A pattern file as read, nothing decided yet.

    `claims`: what it says about its unit, the weightiest first. `readings`: the units for
    which a refusal tells the size. `down`: whether its y runs
    downwards. `stray`: what is drawn outside of every piece. `exact`: the file's numbers are
    lengths on paper, so that a check square which says otherwise is refused.
    """

    kind: str
    drafts: list[Draft]
    claims: list[Claim] = field(default_factory=list)
    readings: tuple[str, ...] = ("mm", "cm", "in")
    down: bool = False
    fields: list[tuple[str, str]] = field(default_factory=list)
    findings: list[Finding] = field(default_factory=list)
    stray: list[Item] = field(default_factory=list)
    exact: bool = False

    def items(self) -> Iterator[Item]:
        """Give all that is drawn."""
        for draft in self.drafts:
            yield from draft.group.items
        yield from self.stray

    def set_role(self, item: Item, role: Role) -> None:
        """Say what one of the items is for."""
        for items in (*(draft.group.items for draft in self.drafts), self.stray):
            items[:] = [replace(i, role=role) if i is item else i for i in items]


def note(kind: str, text: str, *, name: str = "", severity: Severity = Severity.NOTE) -> Finding:
    """Return a finding, begun with the piece's name if there is one."""
    parts = (name,) if name else ()
    return Finding(
        kind=kind, text=f"{name}: {text}" if name else text, severity=severity, parts=parts
    )


def printable(text: str) -> str:
    """Return a text on one line without characters that a terminal would act on."""
    return " ".join("".join(c if c.isprintable() else " " for c in text).split())


def finished(
    raw: RawPattern,
    *,
    file: str,
    unit: str | None,
    size: str | None,
    reference: tuple[float, float] | None,
    close: float,
    amounts: Amounts | None = None,
) -> Pattern:
    """Choose the size, decide the scale, and make pieces of everything.

    `reference`: a drawn line's length in file units, and its true length (mm).
    """
    findings = list(raw.findings)
    drafts, taken, sizes = _of_size(raw, size, findings, file=file)
    largest = largest_size(draft.group for draft in drafts)
    if largest == (0.0, 0.0):
        raise PatternError(
            "there is no outline in the file",
            file=file,
            hint="see that it is the pattern's file, and that its outlines are lines",
        )
    own = _own_references(raw)
    drawn = [claim for _, claim in own]
    claims = [*raw.claims, *drawn] if raw.exact else [*drawn, *raw.claims]
    firm = claims[0].unit if claims and claims[0].firm else ""
    if raw.exact and own and all(in_inches(item.label or item.layer) for item, _ in own):
        amounts = amounts or _amounts("in")  # a print has no unit; its check squares do
    spoken = amounts or _amounts(unit_factor(unit)[0] if unit else firm)
    scale, about_scale = decide_scale(
        largest,
        unit=unit,
        reference=reference,
        claims=claims,
        telling=tellings(draft.group for draft in drafts),
        readings=raw.readings,
        amounts=spoken,
        file=file,
    )
    findings += about_scale
    if raw.exact and unit is None and reference is None:
        _refuse_shrunk(own, raw.claims[0], largest, spoken, file=file)
    spoken = amounts or _amounts(scale.unit)
    findings += _confirmed(own, scale, spoken)
    lost = sum(item.role not in (Role.REFERENCE, Role.TEXT) for item in raw.stray)
    if lost:
        findings.append(note("stray", f"left out, for they belong to no piece: {lost} line(s)"))
    by = Affine.scale(scale.factor)
    say = Speech(amounts=spoken, factor=scale.factor, down=raw.down)
    found: list[Found] = []
    unnamed = count(1)
    for draft in drafts:
        if scale.factor != 1.0:
            items = [transformed_item(item, by) for item in draft.group.items]
            draft = replace(draft, group=replace(draft.group, items=items))
        found += _pieces(draft, findings, unnamed, close=close, say=say)
    found = _apart(found, findings)
    if not found:
        fault = next((f for f in findings if f.severity is Severity.FAULT), None)
        raise PatternError(
            fault.text.removesuffix("; left out") if fault else "no outline in the file is closed",
            file=file,
            hint="--close of the command pieces closes wider gaps"
            if fault and fault.kind == "open"
            else None,
        )
    return Pattern(
        file=file,
        kind=raw.kind,
        found=tuple(found),
        findings=tuple(replace(f, text=printable(f.text)) for f in findings),
        scale=scale,
        size=taken,
        sizes=sizes,
        fields=tuple(raw.fields),
        amounts=spoken,
        checks=tuple(_checks(raw, scale)),
    )


def _checks(raw: RawPattern, scale: Scale) -> Iterator[CheckLine]:
    """Yield what is drawn to be measured, at true size."""
    by = Affine.scale(scale.factor)
    for item in raw.items():
        if item.role is Role.REFERENCE and item.path:
            yield CheckLine(
                name=printable(item.label or item.layer)[:LONGEST_NAME],
                path=item.path.transformed(by),
                length=drawn_length(item.path) * scale.factor,
                said=item.known or reference_length(item.label) or reference_length(item.layer),
            )


def _amounts(unit: str) -> Amounts:
    """Return how lengths are said of a file in a unit: in inches if it is one of those."""
    return Amounts(unit) if unit in INCH_UNITS else METRIC


def drawn_length(path: Path) -> float:
    """Return the length of a reference line; of a square, its longer side."""
    if not path.closed:
        return length(path)
    x0, y0, x1, y1 = bounds(path)
    return max(x1 - x0, y1 - y0)


def _own_references(raw: RawPattern) -> list[tuple[Item, Claim]]:
    """Return the reference lines that state their own length, and what they say."""
    found = []
    for item in raw.items():
        names = (item.label, item.layer)
        lengths = {item.label: item.known or reference_length(item.label)}
        lengths.setdefault(item.layer, reference_length(item.layer))
        label, known = next(((n, lengths[n]) for n in names if lengths[n]), ("", None))
        if item.role is Role.REFERENCE and item.path and known:
            drawn = drawn_length(item.path)
            why = f"{label!r} is drawn {drawn:.6g} units long"
            unit, factor = named_factor(known / drawn)
            claim = Claim(factor=factor, unit=unit, why=why, firm=True, drawn=True)
            found.append((item, claim))
    return found


def _confirmed(
    own: Sequence[tuple[Item, Claim]], scale: Scale, amounts: Amounts
) -> Iterator[Finding]:
    """Yield what check squares and reference lines say of the scale; none of them is a piece."""
    for item, claim in own:
        if item.path is None:
            continue
        what = "the check square" if item.path.closed else "the reference line"
        drawn = amounts.setting(drawn_length(item.path) * scale.factor)
        right = abs(claim.factor / scale.factor - 1.0) <= _TRUE
        said = "so the scale is right" if right else "so the scale is not what it says"
        text = f"{what} {item.label or item.layer!r} is {drawn}, {said}; it is no piece"
        yield note("check", text)


def _refuse_shrunk(
    own: Sequence[tuple[Item, Claim]],
    paper: Claim,
    size: tuple[float, float],
    amounts: Amounts,
    *,
    file: str,
) -> None:
    """Refuse a drawing on paper whose check square is not as large as it says."""
    for item, claim in own:
        ratio = claim.factor / paper.factor
        if item.path is None or abs(ratio - 1.0) <= _TRUE:
            continue
        drawn = drawn_length(item.path) * paper.factor
        name = printable(item.label or item.layer)[:LONGEST_NAME]
        mine, its = (
            size_text((size[0] * f, size[1] * f), amounts) for f in (paper.factor, claim.factor)
        )
        slip = fingerprint(1.0 / ratio)
        text = (
            f"the check square {name!r} is {amounts.setting(round(drawn, 2))} in the file, "
            f"{100.0 / ratio:.4g} % of what it says{f' ({slip})' if slip else ''}: the largest "
            f"piece is {mine} as the file has it, {its} by the square"
        )
        known = amounts.setting(round(ratio * drawn, 3))
        hint = f"--unit {paper.unit} goes by the file, --reference '{name}={known}' by the square"
        raise PatternError(text, file=file, hint=hint)


def _of_size(
    raw: RawPattern, size: str | None, findings: list[Finding], *, file: str
) -> tuple[list[Draft], str, tuple[str, ...]]:
    """Return the drafts of one size and those of every size; refuse to choose for the user."""
    by_draft = [value_of(draft.fields, "sizename") for draft in raw.drafts]
    sizes = tuple(dict.fromkeys(name for name in by_draft if name))
    if size is not None:
        wanted = next((s for s in sizes if s.casefold() == size.strip().casefold()), None)
        if wanted is None:
            hint = "it has " + ", ".join(sizes[:20]) if sizes else "it does not name sizes"
            raise PatternError(f"there is no size {size!r} in it", file=file, hint=hint)
    elif len(sizes) > 1:
        base = value_of(raw.fields, "samplesize")
        hint = "say which; the sample size is " + base if base else "say which one to take"
        several = SizesError("the file has several sizes: " + ", ".join(sizes[:20]), hint=hint)
        several.sizes = sizes
        raise several.located(file=file)
    else:
        wanted = sizes[0] if sizes else ""
    taken = [d for d, name in zip(raw.drafts, by_draft, strict=True) if name in ("", wanted)]
    _bare(raw.drafts, taken, findings)
    return taken, wanted, sizes


def _bare(every: Sequence[Draft], taken: Sequence[Draft], findings: list[Finding]) -> None:
    """Tell of pieces that have notches in another size but not in the one that was taken."""
    notched = {d.name for d in every if any(i.role is Role.NOTCH for i in d.group.items)}
    for draft in taken:
        if draft.name in notched and not any(i.role is Role.NOTCH for i in draft.group.items):
            text = "this size has no notches, another one in the file has"
            findings.append(note("notch", text, name=draft.name))


def _pieces(
    draft: Draft, findings: list[Finding], unnamed: Iterator[int], *, close: float, say: Speech
) -> list[Found]:
    """Return the pieces of a draft; those without a name are numbered, for notes of them."""
    group = draft.group
    made, told = outlines(group, close=close, say=say)
    findings += told
    if not made and any(item.role is Role.CUT for item in group.items) and not told:
        findings.append(
            note("outline", "no closed outline", name=group.name, severity=Severity.FAULT)
        )
    out: list[Found] = []
    for drawn in made:
        outline, said, lacking = spoken(drawn)
        findings += lacking
        own = [*_own_fields(outline), *said]
        name = tidy_name(value_of(own, "piecename")) or _name(outline, draft)
        if not name:
            serial = next(unnamed)
            name = "piece" if serial == 1 else f"piece {serial}"
        if len({said for key, said in own if key_of(key) == "piecename"}) > 1:
            text = "several piece texts belong to it; the first is taken"
            findings.append(note("text", text, name=name, severity=Severity.FAULT))
        built = build(outline, name, close=close, say=say)
        findings += built.findings
        piece = _on_itself(built.piece, findings, say)
        fields = [*own, *draft.fields]
        right, left = _quantity(replace(draft, fields=fields), name, findings)
        out.append(
            Found(
                piece=piece,
                right=right,
                left=left,
                material=value_of(fields, "material"),
                size=value_of(fields, "sizename"),
                opened=built.opened,
                up_known=built.up_known,
                turns=built.turns,
                curves=built.curves,
                fields=tuple(fields),
                line=outline.source.line or draft.line,
                uncertainty=outline.source.off,
            )
        )
    return out


def _on_itself(piece: Piece, findings: list[Finding], say: Speech) -> Piece:
    """Leave texts beside the piece out, and tell of other marks that run off it."""
    lost: set[Mark] = set()
    for mark, off in marks_beyond(piece):
        if mark.kind is MarkKind.TEXT:
            lost.add(mark)
            text = f"a text beside it is left out: {mark.text!r}"
            findings.append(note("text", text, name=piece.name))
        else:
            severity = Severity.FAULT if mark.path is None else Severity.NOTE
            text = f"a {mark.kind} mark runs {say.length(off)} off the piece"
            findings.append(note("mark", text, name=piece.name, severity=severity))
    return replace(piece, marks=tuple(m for m in piece.marks if m not in lost))


def _own_fields(outline: Outline) -> list[tuple[str, str]]:
    """Return the piece texts that stand loose in an outline, or nearest to it."""
    told = (field_of(item.text) for item in outline.items if item.role is Role.IGNORE)
    return [field for field in told if field and key_of(field[0]) in PIECE_KEYS]


def _quantity(draft: Draft, name: str, findings: list[Finding]) -> tuple[int | None, int | None]:
    said = value_of(draft.fields, "quantity")
    if not said:
        return draft.right, draft.left
    pair = quantity(said)
    if pair is None:
        text = f"quantity {said!r} is not understood: how many right, how many left, as 1,1"
        findings.append(note("quantity", text, name=name))
        return None, None
    return pair


def _name(outline: Outline, draft: Draft) -> str:
    """Return the piece's name, if any: said of the group, the contour, or by a text inside it."""
    if outline.alone and draft.name:
        return tidy_name(draft.name)
    own = outline.source.label
    if own and role_of(own) is None:
        return tidy_name(own)
    texts = [i for i in outline.items if i.role is Role.TEXT and i.text and not said_by(i.text)]
    if texts and draft.group.loose:
        area = Polygon(outline.cut.points(TOLERANCE.search_chord))
        inside = [
            i for i in texts if any(area.intersects(ShapelyPoint(at)) for at in places_of_text(i))
        ]
        if inside:
            return tidy_name(max(inside, key=lambda item: item.size).text)
    layer = outline.source.layer
    if draft.group.loose and layer not in ("", "0") and role_of(layer) is None:
        return tidy_name(layer)
    return tidy_name(draft.name)


def tidy_name(name: str) -> str:
    """Return a name that can stand on a label and in a file name."""
    text = printable(name)
    text = "".join("-" if c in '/\\<>:"|?*' else c for c in text)
    return " ".join(text.split()).strip(" .")[:LONGEST_NAME].strip(" .")


def _apart(found: Sequence[Found], findings: list[Finding]) -> list[Found]:
    """Give every piece a name of its own: the second "front" becomes "front 2"."""
    often = Counter(one.piece.name.casefold() for one in found)
    used = set(often)
    out: list[Found] = []
    number: Counter[str] = Counter()
    for one in found:
        name = one.piece.name
        key = name.casefold()
        number[key] += 1
        if often[key] > 1 and number[key] > 1:
            serial = number[key]
            while f"{name} {serial}".casefold() in used:
                serial += 1
            new = f"{name} {serial}"
            used.add(new.casefold())
            text = f"the name is there more than once; this one is called {new!r}"
            findings.append(note("name", text, name=name))
            name = new
        out.append(replace(one, piece=replace(one.piece, name=name)))
    return out
