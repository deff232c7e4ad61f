"""By what a stock file knows a remnant again."""

from __future__ import annotations

import hashlib

from nesting.job.tables.leather_table import stock_id
from nesting.job.tables.remnant_table import RemnantTable

REST = {"name": "rest 1", "material": "foam", "rectangle": [300, 180]}


def test_an_id_is_made_of_what_is_said_and_nothing_else() -> None:
    """So a field that shapes get some day makes no other remnant of it."""
    said = '{"rectangle":[300.0,180.0],"corner_radius":0.0,"name":"rest 1","material":"foam"}'
    wanted = hashlib.sha256(said.encode()).hexdigest()[:16]
    assert stock_id(RemnantTable.model_validate(REST)) == wanted


def test_another_name_or_outline_is_another_remnant() -> None:
    known = stock_id(RemnantTable.model_validate(REST))
    for other in ({"name": "rest 2"}, {"material": "felt"}, {"rectangle": [300, 181]}):
        assert stock_id(RemnantTable.model_validate({**REST, **other})) != known
    assert stock_id(RemnantTable.model_validate({**REST, "notes": "dusty"})) == known
