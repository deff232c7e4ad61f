from __future__ import annotations

from nesting.names import counting_order, listed


def test_names_sort_as_people_count() -> None:
    names = ["foam-10", "foam-2", "Foam-1", "canvas", "2 felt", "10 felt", "foam"]
    expected = ["2 felt", "10 felt", "canvas", "foam", "Foam-1", "foam-2", "foam-10"]
    assert sorted(names, key=counting_order) == expected


def test_a_comma_in_a_name_is_no_border_between_names() -> None:
    assert listed(["Flap", "Base"]) == "Flap, Base"
    assert listed(["Lining, printed", "Base"]) == "Lining, printed; Base"
    assert listed([]) == ""
