"""Whole random jobs, all rules mixed, laid with few rounds: the judge finds no fault."""

from __future__ import annotations

from hypothesis import HealthCheck, Phase, given, note, settings
from hypothesis import strategies as st

from nesting import JobError, parse_job
from nesting.errors import Severity
from nesting.job.job import Job
from nesting.marker.check import check
from nesting.marker.lay import Lay, Sheets
from nesting.material.material import Cloth
from nesting.planning.lay.lays import lays
from nesting.planning.lay.loads import grid_of, in_loads
from nesting.planning.offcuts import on_offcuts
from nesting.search.result import Limits
from nesting.search.solve import search

mm = st.integers

QUOTED = '"unknown"'


@st.composite
def pieces(draw: st.DrawFn, number: int) -> str:
    """Return a piece of a random sort, with points to match and a sewing line."""
    wide, high = draw(mm(60, 260)), draw(mm(50, 220))
    slant = draw(mm(0, 40))
    shape = draw(
        st.sampled_from(
            [
                f"rectangle = [{wide}, {high}]",
                f"points = [[0, 0], [{wide}, 0], [{wide - slant}, {high}], [{slant // 2}, {high}]]",
                f"ellipse = [{wide}, {high}]\nat = [{wide / 2}, {high / 2}]",
                f'outline = "M 0,0 L {wide},0 L {wide},{high} C {wide * 0.6},{high - slant} '
                f'{wide * 0.3},{high - slant} 0,{high} Z"',
            ]
        )
    )
    grain = draw(st.sampled_from(["", 'grain = "across"', "grain = 20"]))
    lines = [
        f'[[piece]]\nname = "piece {number}"',
        shape,
        'line = "sewing"',
        f"seam_allowance = {draw(mm(4, 9))}",
        grain,
        f"named_points = {{ a = [0, 0], b = [{wide}, 0] }}",
    ]
    if shape.startswith(("rectangle", "ellipse")) and not grain:
        lines.append(f"fold_axis = [[0, {high / 2}], [{wide}, {high / 2}]]")
    return "\n".join([*lines, ""])


@st.composite
def goods(draw: st.DrawFn) -> tuple[str, str]:
    """Return the words that say what kind of material it is, and its tables."""
    nap = draw(st.sampled_from(["", 'nap = "none"', 'nap = "one-way"', 'nap = "any"']))
    common = (
        f"spacing = {draw(mm(0, 5))}\n{nap}\n"
        f"faces_alike = {draw(st.sampled_from(['true', 'false']))}\n"
        f"turn_slack = {draw(st.sampled_from([0, 0, 5, 20]))}\n"
        f"wrong_side_up = {draw(st.sampled_from(['true', 'false']))}\n"
    )
    kind = draw(st.sampled_from(["cloth", "folded", "print", "stripe", "sheet", "leather"]))
    if kind == "sheet":
        return kind, (
            f'[[sheet]]\nname = "stuff"\nsize = [{draw(mm(450, 900))}, {draw(mm(400, 600))}]\n'
            f"margin = {draw(mm(0, 8))}\n{common}"
            '[[remnant]]\nname = "rest"\nmaterial = "stuff"\n'
            "points = [[0, 0], [400, 0], [350, 300], [0, 320]]\n"
            f"grain = {draw(st.sampled_from(['0', '90', '30', QUOTED]))}\n"
        )
    if kind == "leather":
        tight = draw(st.sampled_from(["", "tight = 10\nslack = 30\n"]))
        other = draw(st.sampled_from(["", "tight = 100\nslack = 20\n"]))
        return kind, (
            f'[[leather]]\nname = "stuff"\nmargin = 5\n{common}'
            '[[leather.hide]]\nname = "one"\n'
            'outline = "M 0,100 C 100,0 900,0 1000,100 L 950,700 L 60,720 Z"\n'
            f"backbone = {draw(st.sampled_from([0, 90, 200]))}\n"
            f"[[leather.hide.flaw]]\ncircle = {draw(mm(10, 90))}\n"
            f"at = [{draw(mm(100, 800))}, {draw(mm(150, 600))}]\n"
            f'[[leather.hide.zone]]\ngrade = "A"\nrectangle = [500, 400]\nat = [100, 120]\n{tight}'
            f'[[leather.hide.zone]]\ngrade = "B"\nrectangle = [300, 400]\nat = [600, 120]\n{other}'
            '[[leather.hide]]\nname = "two"\nrectangle = [1100, 800]\nguess_zones = "hide"\n'
        )
    more = {
        "cloth": "",
        "folded": 'fold = "folded"',
        "print": f"print = {{ along = {draw(mm(90, 300))}, across = {draw(mm(90, 250))}, "
        f"drop = {draw(st.sampled_from([0, 0.5]))}, origin = [40, 60], "
        f"{draw(st.sampled_from(['drift', 'off_centre']))} = {draw(st.sampled_from([0, 2]))} }}",
        "stripe": f"print = {{ across = {draw(mm(20, 90))}, origin = [0, 10] }}",
    }[kind]
    shrink = draw(st.sampled_from(["", "shrinkage = { along = 0.05, cut_larger = true }"]))
    rest = ""
    if kind != "folded":
        rest = draw(
            st.sampled_from(["", '[[cloth.remnant]]\nname = "rest"\nellipse = [500, 400]\n'])
        )
    width = draw(mm(700, 1500))
    return kind, f'[[cloth]]\nname = "stuff"\nwidth = {width}\n{more}\n{shrink}\n{common}{rest}'


@st.composite
def jobs(draw: st.DrawFn) -> str:
    """Return the text of a job: a material and a cutting list with rules that suit it."""
    count = draw(st.integers(1, 4))
    kind, material = draw(goods())
    text = '[job]\nname = "random"\n'
    text += f"bags = {draw(st.integers(1, 2))}\n"
    text += "".join(draw(pieces(k)) for k in range(count)) + material
    for k in range(count):
        rules = [f"copies = {draw(st.integers(1, 3))}"]
        rules += draw(st.sampled_from([[], ["pairs = true"]]))
        rules += draw(st.sampled_from([[], [], ["trimmed = true"], ["rough_margin = 6"]]))
        if kind in ("print", "stripe"):
            match = f'matches = {{ point = "a", piece = "piece {k - 1}", to = "b" }}'
            choice = [[], ["centred = true"], *([[match]] if k else [])]
            rules += draw(st.sampled_from(choice))
        if kind == "leather":
            rules += draw(st.sampled_from([[], ['grade = "A"'], ['grade = "B"'], ['grade = "C"']]))
            rules += draw(st.sampled_from([[], ["turn_slack = 40"], ['nap = "none"']]))
        rules += draw(st.sampled_from([[], [], ["mates = true"]]))
        if kind == "cloth":
            rules += draw(st.sampled_from([[], ['grain = "bias"'], ["pieced = 8"]]))
        text += f'[[cut]]\npiece = "piece {k}"\nmaterial = "stuff"\n' + "\n".join(rules) + "\n"
    return text + draw(st.sampled_from(["", "", "[table]\nbed = [600, 450]\n"]))


def whole_and_rest(lay: Lay, job: Job) -> list[Lay]:
    """Return the lay as it is searched: in loads of the bed, and what goes on remnants of cloth."""
    (material,) = job.materials
    found = [in_loads(lay, grid_of(lay, job))]
    rest = on_offcuts(lay, material, job) if isinstance(material, Cloth) else None
    return found if rest is None else [rest, *found]


def test_no_random_job_leaves_a_finding() -> None:
    laid: list[int] = []

    @settings(
        max_examples=50,
        deadline=None,
        derandomize=True,
        phases=[Phase.explicit, Phase.reuse, Phase.generate],
        suppress_health_check=[HealthCheck.too_slow, HealthCheck.data_too_large],
    )
    @given(jobs())
    def judged(text: str) -> None:
        laid.append(laid_without_findings(text))

    judged()
    assert sum(parts > 0 for parts in laid) > 20  # the others ask for what can't be


def laid_without_findings(text: str) -> int:
    """Lay a job and judge it; return how many parts were laid."""
    note(text)
    try:
        job = parse_job(text)
        made = [on for lay in lays(job) for on in whole_and_rest(lay, job)]
    except JobError:  # a rule that can't be met is told before any search
        return 0
    parts = 0
    for lay in made:
        result = search(lay, limits=Limits(rounds=1, seconds=4.0), workers=1)
        faults = [f for f in check(result.marker) if f.severity is Severity.FAULT]
        lost = {lay.parts[u.part].name for u in result.unplaced}
        assert {name for f in faults if f.kind == "missing" for name in f.parts} == lost
        # A load of a bed is larger by its margin; that a half lies on the fold is judged of the
        # whole marker, once the loads are joined.
        load = isinstance(lay.stock, Sheets) and lay.stock.margin > 0.0
        excused = {"missing", "edge"} if load else {"missing"}
        assert not [f for f in faults if f.kind not in excused]
        assert not lost or not hasattr(lay.stock, "width"), "an open strip has room for all"
        parts += len(result.marker.placements)
    return parts
