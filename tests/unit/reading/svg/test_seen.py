"""What of an SVG drawing is seen: clips, switches, hidden and unpainted things."""

from __future__ import annotations

import pytest

from nesting.errors import PatternError
from tests.unit.reading.svg.drawn import RECT, only_of, size

CLIP = '<clipPath id="c"><rect width="{}" height="800"/></clipPath>'


def test_a_clip_that_cuts_nothing_off_changes_nothing(svg):
    pattern = svg(CLIP.format(1000) + f'<g clip-path="url(#c)">{RECT}</g>')
    assert size(pattern) == pytest.approx((300, 200))


@pytest.mark.parametrize(
    "body",
    [
        CLIP.format(200) + f'<g clip-path="url(#c)">{RECT}</g>',
        CLIP.format(200) + f"<g style=\"clip-path: url('#c')\">{RECT}</g>",
        "<style>rect { clip-path: circle(40px) }</style>" + RECT,
        CLIP.format(50).replace('id="c"', 'id="c" transform="translate(150 0)"')
        + f'<g clip-path="url(#c)">{RECT}</g>',
        f'<mask id="m"><rect width="80" height="9"/></mask><g mask="url(#m)">{RECT}</g>',
        f'<svg width="200" height="200">{RECT}</svg>',
        "<style>.c { clip-path: url(#c) }</style>" + CLIP.format(200) + f'<g class="c">{RECT}</g>',
    ],
)
def test_what_cuts_off_a_part_is_refused(svg, body):
    """Nobody knows whether what is hidden is to be cut."""
    with pytest.raises(PatternError, match=r"cuts off a part|hides a part|is not read"):
        svg(body)


def test_what_a_clip_hides_whole_is_not_read(svg):
    beyond = '<rect x="600" width="250" height="250"/>'
    pattern = svg(CLIP.format(500) + f'<g clip-path="url(#c)">{RECT}{beyond}</g>')
    assert size(pattern) == pytest.approx((300, 200))
    assert any("outside of a clip-path" in f.text for f in pattern.findings)


@pytest.mark.parametrize(
    "first",
    [
        '<rect width="900" height="700" requiredExtensions="http://example.com/x"/>',
        '<g systemLanguage="de, fr"><rect width="900" height="700"/></g>',
        "<!-- none -->",
    ],
)
def test_a_switch_shows_one_child(svg, first):
    """SVG 2, 5.9.3: the first direct child whose conditions hold."""
    second = '<rect x="500" width="90" height="50"/>'
    pattern = svg(f"<switch>{first}<g>{RECT}</g>{second}</switch>")
    assert size(only_of(pattern)) == pytest.approx((300, 200))


def test_visible_things_in_a_hidden_group_and_nothing_of_no_opacity(svg):
    body = (
        f'<g visibility="hidden"><rect width="800" height="9"/>'
        f'<g visibility="visible">{RECT}</g></g>'
        '<rect width="800" height="700" opacity="0"/>'
        '<g style="opacity:0%"><rect width="850" height="9"/></g>'
    )
    assert size(only_of(svg(body))) == pytest.approx((300, 200))


@pytest.mark.parametrize(
    ("attributes", "seen"),
    [
        ('fill="none" stroke="none"', False),
        ('style="fill:none;stroke:none"', False),
        ('fill="transparent" stroke-width="0"', False),
        ('fill-opacity="0" stroke-opacity="0.0"', False),
        ('fill="none"', True),  # no stroke is said: left out by whoever wrote it by hand
        ('fill="none" stroke="red"', True),
        ('stroke="none"', True),
    ],
)
@pytest.mark.parametrize("around", [False, True])
def test_what_is_said_to_have_no_paint_is_no_piece(svg, attributes, seen, around):
    frame = '<rect width="900" height="700"{}/>'
    frame = f"<g {attributes}>{frame.format('')}</g>" if around else frame.format(f" {attributes}")
    pattern = svg(f"{frame}{RECT}")
    assert pattern.largest == ((900.0, 700.0) if seen else (300.0, 200.0))
    assert any("hidden" in f.text for f in pattern.findings) != seen


def test_paint_in_a_group_without_is_seen(svg):
    assert len(svg(f'<g fill="none" stroke="none"><g stroke="red">{RECT}</g></g>').pieces) == 1


def test_what_is_not_shown_is_not_read(svg):
    hidden = (
        '<g display="none"><rect width="900" height="700"/></g>'
        '<rect style="display:none" width="900" height="700"/>'
        '<rect visibility="hidden" width="900" height="700"/>'
        '<clipPath id="c"><rect width="900" height="700"/></clipPath>'
        '<image href="https://example.com/a.png" width="9" height="9"/>'
        '<q:rect xmlns:q="urn:other" width="900" height="700"/>'
    )
    pattern = svg(hidden + RECT)
    assert size(pattern) == pytest.approx((300, 200))
    assert {f.text for f in pattern.findings if f.kind == "unread"} == {
        "not read: 3 hidden element(s)",
        "not read: 1 image",
    }
