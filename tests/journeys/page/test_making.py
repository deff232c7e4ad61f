"""A bag made on the page, from dropped files to a marker, without a line of TOML."""

from __future__ import annotations

from pathlib import Path

import pytest
from playwright.sync_api import Browser, expect

from nesting import read_job
from tests.journeys.page.browsing import axe_finds_nothing, opened, served

STARTERS = Path(__file__).resolve().parents[3] / "sample_markers" / "starters"


def test_from_dropped_files_to_a_marker(browser: Browser, tmp_path: Path) -> None:
    with (
        served("--time", "2s", folder=tmp_path) as server,
        opened(browser, server.address) as page,
    ):
        page.locator("#files").set_input_files(STARTERS / "starter_a4_mm.dxf")
        expect(page.locator(".pieces li")).to_have_count(2)
        expect(page.locator("main")).to_contain_text("So the largest piece is 17 × 13 cm")
        axe_finds_nothing(page)
        page.get_by_role("link", name="Goods").click()
        expect(page.locator("main")).to_contain_text("Not ready to be laid yet")
        axe_finds_nothing(page)
        page.locator("#new-cloth-name").fill("canvas")
        page.locator("#new-cloth-width").fill("wide")
        page.get_by_role("button", name="Add the cloth").click()
        expect(page.locator("main")).to_contain_text('"wide"')
        page.get_by_role("group", name="canvas").get_by_label("width as sold").fill("145 cm")
        page.keyboard.press("Tab")
        for label in ("How many of Front from canvas", "How many of Pocket from canvas"):
            page.get_by_label(label).fill("2")
            page.keyboard.press("Tab")
            expect(page.get_by_label(label.replace("How many", "Which hand"))).to_be_visible()
        axe_finds_nothing(page)
        page.get_by_label("how many are made").fill("3")
        page.keyboard.press("Tab")
        page.get_by_role("button", name="Lay it").click()
        page.locator("svg.marker .part").first.wait_for()
        expect(page.locator("svg.marker .part")).to_have_count(12)
        job = read_job(next(tmp_path.glob("*.toml")))
        assert job.bags[0].count == 3
        # What is changed after that is laid anew.
        page.get_by_role("button", name="Search on").wait_for()
        page.get_by_role("link", name="Goods").click()
        page.get_by_label("How many of Front from canvas").fill("1")
        page.keyboard.press("Tab")
        page.get_by_role("button", name="Lay it").click()
        expect(page.locator("svg.marker .part")).to_have_count(9)


def test_the_check_square_is_shown_and_what_it_measures_sets_the_scale(
    browser: Browser, tmp_path: Path
) -> None:
    with served(folder=tmp_path) as server, opened(browser, server.address) as page:
        page.locator("#files").set_input_files(STARTERS / "starter_a4_mm.svg")
        check = page.get_by_role("group", name="Check square “5 cm”")
        expect(check).to_contain_text("is 5 cm as the file is read")
        square, front = (page.locator(f"svg[aria-label*={name}]") for name in ("“5", "Front"))
        width = "e => e.firstElementChild.getBoundingClientRect().width"
        sides = [one.evaluate(width) for one in (square, front)]
        assert sides[1] / sides[0] == pytest.approx(170 / 50, rel=0.03), "not at one scale"
        axe_finds_nothing(page)
        # It comes out a tenth too large, as she measures it: so do the pieces.
        check.get_by_label("Its check square measures").first.fill("55 mm")
        page.keyboard.press("Tab")
        page.keyboard.press("Enter")
        expect(check).to_contain_text("is 5.5 cm, as you said")
        expect(page.locator(".pieces")).to_contain_text("18.7 × 14.3 cm")
        check.get_by_label("Its check square measures").first.fill("a lot")
        check.get_by_role("button", name="Read it so").click()
        expect(page.locator("main [role=alert]")).to_contain_text("a lot")
        expect(check).to_contain_text("is 5.5 cm, as you said")
        axe_finds_nothing(page)
        (job,) = tmp_path.glob("*.toml")
        assert job.read_text(encoding="utf-8").count('file_reference = "5 cm=55 mm"') == 2
        page.reload()
        expect(check).to_contain_text("is 5.5 cm, as you said")


def test_the_check_square_is_true(browser: Browser, tmp_path: Path) -> None:
    with served(folder=tmp_path) as server, opened(browser, server.address) as page:
        page.locator("#files").set_input_files(STARTERS / "starter_letter_inch.pdf")
        check = page.get_by_role("group", name="Check square “2 in”")
        expect(check).to_contain_text("is 2 in as the file is read")
        check.get_by_role("button", name="Yes").click()
        expect(check).to_contain_text("is 2 in, as you said")
        expect(check.get_by_role("button", name="Yes")).to_have_count(0)
        expect(page.locator(".pieces")).to_contain_text("6 3/4 × 5 1/4 in")


def test_a_piece_is_worked_on_by_mouse_and_by_keys(browser: Browser, tmp_path: Path) -> None:
    with served(folder=tmp_path) as server, opened(browser, server.address) as page:
        page.locator("#new-name").fill("Pouch")
        page.get_by_role("button", name="Begin").click()
        page.locator("#draw-new").click()
        page.locator("#new-rectangle-name").fill("front")
        page.locator("#new-rectangle-0").fill("24")
        page.locator("#new-rectangle-1").fill("18")
        page.locator("#new-rectangle-allowance").fill("1")
        page.get_by_role("button", name="Draw the rectangle").click()
        page.get_by_role("button", name="Work on front").click()
        large = page.locator("svg.large")
        expect(large).to_be_focused()
        axe_finds_nothing(page)

        def text() -> str:
            return next(tmp_path.glob("*.toml")).read_text(encoding="utf-8")

        def at(right: float, up: float) -> tuple[float, float]:
            box = large.bounding_box()  # with 20 pixels around the piece
            assert box is not None
            wide, high = box["width"] - 40, box["height"] - 40
            return box["x"] + 20 + right / 24 * wide, box["y"] + 20 + (1 - up / 18) * high

        def shown(right: float) -> None:
            """Wait until the piece that is worked on is drawn so wide: `at` asks where it is."""
            for _ in range(600):
                box = large.bounding_box()
                assert box is not None
                if abs((box["width"] - 40) / (box["height"] - 40) - right / 18) < 0.01:
                    return
                page.wait_for_timeout(100)
            raise AssertionError("the piece is not drawn anew")

        # The arrow's end is taken to where it nearly points upwards: it catches there.
        handle = page.locator("svg.large .turner circle").bounding_box()
        assert handle is not None
        x, y = handle["x"] + handle["width"] / 2, handle["y"] + handle["height"] / 2
        page.mouse.move(x, y)
        page.mouse.down()
        page.mouse.move(*at(12.2, 14), steps=4)
        page.mouse.up()
        expect(page.get_by_label("degrees")).to_have_value("90")
        large.press("ArrowRight")
        expect(page.get_by_label("degrees")).to_have_value("89")
        large.press("Shift+ArrowLeft")
        expect(page.get_by_label("degrees")).to_have_value("90")
        # A click on an edge takes it in hand; F lays it on the fold.
        page.mouse.click(*at(24, 6))
        expect(page.get_by_label("In hand")).to_have_value("edge 2")
        page.locator("#piece-allowance").fill("2")
        page.keyboard.press("Tab")
        expect(page.locator(".keep")).to_contain_text("Saved in")
        expect(page.locator("#piece-allowance")).to_have_value("20 mm")
        large.press("f")
        expect(page.locator(".pieces")).to_contain_text("48 × 18 cm")
        shown(48)
        axe_finds_nothing(page)
        large.press("f")
        expect(page.locator(".pieces")).to_contain_text("24 × 18 cm")
        shown(24)
        # A click on the piece says where a mark is to be.
        page.mouse.click(*at(6, 9))
        page.locator("#piece-put-kind").select_option("snap")
        page.get_by_role("button", name="Put it there").click()
        expect(page.locator("#piece-at")).to_have_value("6 cm x 9 cm")
        axe_finds_nothing(page)
        page.mouse.move(*at(6, 9))
        page.mouse.down()
        page.mouse.move(*at(8, 10), steps=3)
        page.mouse.up()
        expect(page.locator("#piece-at")).to_have_value("8 cm x 10 cm")
        large.press("Shift+ArrowDown")
        expect(page.locator("#piece-at")).to_have_value("8 cm x 9 cm")
        page.locator("#piece-at").fill("8 cm x 90 cm")
        page.keyboard.press("Tab")
        expect(page.locator("main [role=alert]")).to_contain_text("off the piece")
        page.locator("#piece-hands").select_option("left")
        expect(page.locator("#piece-hands")).to_have_value("left")
        expect(page.locator(".keep")).to_contain_text("Saved in")
        assert 'hands = ["left"]' in text()
        assert 'at = ["8 cm", "9 cm"]' in text()
        large.press("Delete")
        expect(page.locator("#piece-hand option[value^=mark]")).to_have_count(0)
        assert "piece.mark" not in text()
        # All without a mouse, by numbers.
        page.get_by_label("In hand").select_option("put 0")
        page.locator("#piece-put-kind").select_option("line")
        page.locator("#piece-put-at").fill("2 x 3")
        page.locator("#piece-put-end").fill("9 x 3")
        page.locator("#piece-put-name").fill("loop")
        page.get_by_role("button", name="Put it there").press("Enter")
        expect(page.get_by_label("In hand")).to_have_value("mark 0")
        assert "points = [[2, 3], [9, 3]]" in text()


def test_what_the_drawing_says_is_cut_is_taken_over(browser: Browser, tmp_path: Path) -> None:
    (tmp_path / "pouch.svg").write_text(
        '<svg xmlns="http://www.w3.org/2000/svg" width="400mm" height="300mm"'
        ' viewBox="0 0 400 300"><path id="Front" d="M 10 10 h 200 v 80 h -200 z"/>'
        '<text x="20" y="60">cut 2 outer, 2 lining</text>'
        '<g id="Side"><path class="cut" d="M 10 150 h 90 v 70 h -60 l -30 -40 z"/>'
        '<path class="sew" d="M 20 160 h 70 v 50 h -46 l -24 -32 z"/>'
        '<text x="30" y="170">cut 2 outer mirrored</text></g></svg>'
    )
    with served(folder=tmp_path) as server, opened(browser, server.address) as page:
        page.locator("#files").set_input_files(tmp_path / "pouch.svg")
        expect(page.locator(".pieces li")).to_have_count(2)
        page.get_by_role("link", name="Goods").click()
        says = page.get_by_role("region", name="What the drawing says is cut")
        expect(says).to_contain_text("outer: Front 2, Side 1 (pairs); from")
        expect(says).to_contain_text("lining: Front 2; from")
        axe_finds_nothing(page)
        says.get_by_role("button", name="Take it").click()
        expect(says).to_have_count(0)
        for name in ("outer", "lining"):
            goods = page.get_by_role("group", name=name, exact=True)
            goods.get_by_label("width").first.fill("140")
            page.keyboard.press("Tab")
        expect(page.get_by_role("button", name="Lay it")).to_be_visible()
        how = page.get_by_role("group", name="How else Side from outer is cut")
        page.locator("summary[aria-label='How else Side from outer is cut']").click()
        how.get_by_label("trimmed").check()
        how.get_by_label("smaller still by").fill("2 mm")
        page.keyboard.press("Tab")
        axe_finds_nothing(page)
        expect(page.locator(".keep")).to_contain_text("Saved in")
        expect(how.get_by_label("smaller still by")).to_have_value("2 mm")
        how.get_by_label("folded back").check()
        expect(page.locator("main [role=alert]")).to_contain_text("fold_back")
        expect(how.get_by_label("folded back")).not_to_be_checked()
    cuts = read_job(next(tmp_path.glob("*.toml"))).bags[0].cuts
    assert sorted((c.piece, c.material, c.copies, c.pairs, c.gap) for c in cuts) == [
        ("Front", "lining", 2, False, 0.0),
        ("Front", "outer", 2, False, 0.0),
        ("Side", "outer", 1, True, 2.0),
    ]


def test_a_unit_that_is_unsure_is_asked_for_and_the_job_comes_back(
    browser: Browser, tmp_path: Path
) -> None:
    (tmp_path / "flap.svg").write_text(
        '<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 300 300">'
        '<path id="flap &lt;b&gt;" d="M 10 10 h 200 v 80 h -200 z"/></svg>'
    )
    with served(folder=tmp_path) as server, opened(browser, server.address) as page:
        page.locator("#files").set_input_files(tmp_path / "flap.svg")
        section = page.get_by_role("region", name="flap.svg")
        expect(section).to_be_visible()
        expect(page.locator(".pieces li")).to_have_count(0)
        axe_finds_nothing(page)
        section.get_by_label("It is drawn in", exact=True).select_option("mm")
        section.get_by_role("button", name="Read it so: It is drawn in").click()
        expect(page.locator(".pieces li")).to_have_count(1)
        expect(page.locator(".pieces")).to_contain_text("20 × 8 cm")
        page.get_by_label("The grain runs").select_option("across")
        expect(page.locator(".keep")).to_contain_text("Saved in")
        server.kill()
    job = next(tmp_path.glob("*.toml"))
    with served(job, folder=tmp_path) as server, opened(browser, server.address) as page:
        expect(page.locator(".pieces li")).to_have_count(1)
        expect(page.get_by_label("The grain runs")).to_have_value("across")
        axe_finds_nothing(page)
