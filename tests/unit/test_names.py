from __future__ import annotations

from nesting.names import letters, listed, marker_title


def test_a_comma_in_a_name_is_no_border_between_names() -> None:
    assert listed(["Flap", "Base"]) == "Flap, Base"
    assert listed(["Lining, printed", "Base"]) == "Lining, printed; Base"
    assert listed([]) == ""


def test_letters_go_on_after_z() -> None:
    assert [letters(n) for n in (0, 1, 25, 26, 27, 51, 52, 701, 702)] == [
        *("A", "B", "Z", "AA", "AB", "AZ", "BA", "ZZ", "AAA"),
    ]


def test_a_marker_is_called_by_its_material_and_by_itself_if_that_has_several():
    assert marker_title("canvas", "canvas") == "canvas"
    assert marker_title("canvas", "B") == "canvas, marker B"
    assert marker_title("canvas", "canvas remnants") == "canvas, remnants"
