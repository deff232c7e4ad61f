from dataclasses import replace
from inspect import signature
from pathlib import Path

import pytest

from nesting.errors import MachineError
from nesting.material.material import SheetGoods
from nesting.writing.machines.files import write_machine_file
from nesting.writing.machines.machine import Kind, read_machine
from nesting.writing.machines.permit import permit

SHOPS = Path(__file__).parents[4] / "sample_markers" / "shops"
LASER = read_machine(SHOPS / "hobby_laser.toml")


def goods(name, substance=""):
    return SheetGoods(name=name, substance=substance, length=100.0, width=100.0)


@pytest.mark.parametrize(
    ("name", "substance"),
    [
        ("PVC tarp", ""),
        ("Marine vinyl", "cotton"),
        ("sheet", "P.V.C."),
        ("sheet", "polyvinyl-chloride"),
        ("Neoprene", "chloroprene"),
        ("sheet", "chlorinated rubber"),
        ("Faux leather", ""),
        ("faux-leather", "unknown"),
        ("Leatherette", "faux leather"),
        ("Oilcloth", ""),
        ("sheet", "ＰＶＣ"),
        ("sheet", "P V C"),
        ("sheet", "p-v-c"),
        ("sheet", "vynil"),
        ("sheet", "Neopren"),
        ("sheet", "Hypalon"),
        ("sheet", "cloruro di polivinile"),
        ("Kunstleder", ""),
        ("Tasche", "Lederimitat"),
        ("tissu", "cuir synthétique"),
        ("borsa", "ecopelle"),
        ("Tischdecke", "Wachstuch"),
        ("table", "oil cloth"),
        ("bag", "faux-leather"),
        ("Faux leather", "made of something new"),
        ("väska", "konstläder"),
        ("ПВХ", ""),
        ("人造革", ""),
    ],
)
def test_what_is_or_may_be_chlorinated_is_refused_whatever_the_user_says(name, substance):
    for word in (False, True):
        with pytest.raises(MachineError, match="hydrogen chloride"):
            permit(LASER, goods(name, substance), sds_read=word)


def test_no_argument_of_the_writer_forces_it(tmp_path):
    names = set(signature(write_machine_file).parameters)
    assert names.isdisjoint({"force", "insist", "unsafe"})


@pytest.mark.parametrize(
    ("name", "substance"),
    [
        ("Faux leather", "polyurethane"),
        ("PU", "pu"),
        ("Foam", "PE foam"),
        ("Hide", "chrome-tanned leather"),
        ("Felt", "wool"),
        ("Bonded", "polyester, self-adhesive"),
        ("Cloth we found", ""),
        ("Cloth", "unknown"),
        ("Cloth", "?"),
        ("Cloth", "n/a"),
        ("Cloth", "tbd"),
        ("Cloth", "cotton, perhaps"),
        ("Cloth", "50 % cotton 50 % polyester"),
        ("Cloth", "Baumwolle, gewachst"),
        ("Cloth", "cork"),
    ],
)
def test_what_has_to_be_asked_needs_the_users_word(name, substance):
    with pytest.raises(MachineError, match="safety data sheet"):
        permit(LASER, goods(name, substance))
    permit(LASER, goods(name, substance), sds_read=True)


def test_the_refusals_are_for_lasers():
    for kind in Kind:
        if kind is not Kind.LASER:
            permit(replace(LASER, kind=kind), goods("PVC"))


def test_nothing_anywhere_calls_a_material_safe():
    folder = Path(__file__).parents[4] / "nesting" / "writing"
    for file in ("machines/permit.py", "cautions.py", "machines/files.py"):
        text = (folder / file).read_text().lower()
        assert "is safe" not in text
        assert "safe to" not in text
