from __future__ import annotations

import pytest

from nesting.material.material import Cloth, Width
from nesting.writing.cautions import ALWAYS, cautions, chlorinated


def cloth(name: str, substance: str = "") -> Cloth:
    return Cloth(name=name, substance=substance, widths=(Width(booked=1400.0, usable=1380.0),))


@pytest.mark.parametrize(
    ("name", "substance"),
    [
        ("Tarpaulin", "PVC"),
        ("Marine vinyl", ""),
        ("Black", "polyvinyl chloride on polyester"),
        ("Faux leather", ""),
        ("Wetsuit", "neoprene"),
    ],
)
def test_what_may_be_chlorinated_is_named(name: str, substance: str) -> None:
    material = cloth(name, substance)
    assert chlorinated(material)
    assert any(name in said and "Do not cut" in said for said in cautions([material]))


@pytest.mark.parametrize(
    ("name", "substance", "word"),
    [
        ("Pad", "foam", "foam"),
        ("Shell", "PU coated polyester", "polyurethane"),
        ("Strap", "chrome-tanned leather", "chrome-tanned"),
        ("Odd", "", "substance is not said"),
    ],
)
def test_doubtful_goods_ask_for_the_data_sheet(name: str, substance: str, word: str) -> None:
    said = " ".join(line for line in cautions([cloth(name, substance)]) if name in line)
    assert word in said
    assert "safety data sheet" in said


def test_pu_is_a_word_not_letters() -> None:
    assert not any("polyurethane" in said for said in cautions([cloth("Pure cotton", "cotton")]))


def test_blades_are_always_cautioned_and_nothing_is_called_safe() -> None:
    said = cautions([cloth("Canvas", "cotton")])
    assert said[: len(ALWAYS)] == ALWAYS
    assert any(line.startswith("Blades") for line in said)
    text = " ".join(said).lower()
    for claim in ("is safe", "are safe", "safe to", "safe material", "approved", "may be laser"):
        assert claim not in text
