from pathlib import Path

import pytest

from nesting.errors import MachineError
from nesting.writing.machines import machine
from nesting.writing.machines.formats import Format
from nesting.writing.machines.machine import Kind, read_machine
from nesting.writing.neutral.drawing import Operation

SHOPS = Path(__file__).parents[4] / "sample_markers" / "shops"

GOOD = """\
name = "Test laser"
kind = "laser"
reads = ["svg"]
kerf = 0.2

[bed]
length = 600.0
width = 400

[tools.cut]
tool = "laser"
layer = 1
colour = "#ff0000"
"""


def read(tmp_path, text):
    file = tmp_path / "shop.toml"
    file.write_text(text)
    return read_machine(file)


def test_a_file_says_what_it_says(tmp_path):
    machine = read(tmp_path, GOOD)
    assert machine.kind is Kind.LASER
    assert machine.reads == (Format.SVG,)
    assert (machine.bed_length, machine.bed_width, machine.kerf) == (600.0, 400.0, 0.2)
    tool = machine.tool(Operation.CUT)
    assert (tool.layer, tool.pen, tool.colour) == ("1", 1, "#ff0000")
    assert machine.tool(Operation.DRILL) is None
    assert machine.travel_speed is None


def test_lengths_and_speeds_may_have_units(tmp_path):
    text = GOOD.replace("0.2", '"1/128 in"').replace("600.0", '"2 ft"').replace("400", '"1.25 m"')
    text += '[speed]\ntravel = "12 in/s"\ncutting = "1 1/2 in/s"\n'
    machine = read(tmp_path, text)
    assert machine.kerf == pytest.approx(25.4 / 128)
    assert (machine.bed_length, machine.bed_width) == pytest.approx((609.6, 1250.0))
    assert (machine.travel_speed, machine.cutting_speed) == pytest.approx((304.8, 38.1))
    slow = read(tmp_path, text.replace("12 in/s", "720 in/min").replace("1 1/2 in/s", "40"))
    assert (slow.travel_speed, slow.cutting_speed) == pytest.approx((304.8, 40.0))


def test_the_four_example_shops_are_read_and_say_they_are_invented():
    files = sorted(SHOPS.glob("*.toml"))
    machines = [read_machine(file) for file in files]
    assert len(machines) == 4
    assert len({machine.kind for machine in machines}) == 4
    assert {form for machine in machines for form in machine.reads} == set(Format)
    assert all("invented" in file.read_text().splitlines()[0] for file in files)


@pytest.mark.parametrize(
    ("old", "new", "field", "line", "words"),
    [
        ('kind = "laser"', 'kind = "beam"', "kind", 2, "rotary knife"),
        ("kerf = 0.2", "kerf = -0.2", "kerf", 4, "greater than or equal to 0"),
        ("kerf = 0.2", "kerf = nan", "kerf", 4, "finite"),
        ("kerf = 0.2", "kerf = 20", "kerf", 4, "not credible"),
        ("kerf = 0.2", 'kerf = "0.2 furlongs"', "kerf", 4, 'unknown unit "furlongs" (known: mm'),
        ("kerf = 0.2", "kerf = true", "kerf", 4, "not a length"),
        ("kerf = 0.2", 'kerf = "1/2 in"', "kerf", 4, "a kerf of 0.5 in is not credible"),
        ("width = 400", 'width = "-3 in"', "bed.width", 8, "greater than 0"),
        ("[bed]", "[speed]\ntravel = '9 in'\ncutting = 1\n[bed]", "speed.travel", 7, "9 in/s"),
        (
            "[bed]",
            "[speed]\ntravel = '9 in/h'\ncutting = 1\n[bed]",
            "speed.travel",
            7,
            "not a speed",
        ),
        ("kerf = 0.2", "curf = 0.2", "curf", 4, "no such field"),
        ("kerf = 0.2", "chord = 1e-9", "chord", 4, "greater than or equal to 0.001"),
        ("length = 600.0", "length = 0", "bed.length", 7, "greater than 0"),
        ("length = 600.0", "", "bed.length", 6, "required"),
        ('colour = "#ff0000"', 'colour = "red"', "tools.cut.colour", 13, "pattern"),
        ("layer = 1", 'layer = "a b"', "tools.cut.layer", 12, "pattern"),
        ("[tools.cut]", "[tools.mark]", "tools", None, "no tool does the cutting"),
        ('reads = ["svg"]', 'reads = ["gcode"]', "reads", 3, "hpgl"),
        ('reads = ["svg"]', "", "reads", None, "not said what"),
        ('kind = "laser"', 'kind = "drag knife"', "kerf", 4, "no kerf"),
        ('kind = "laser"', 'kind = "laser"\nover_cut = 1', "over_cut", 3, "for knives"),
        ('kind = "laser"', 'kind = "laser"\nblade_offset = 1', "blade_offset", 3, "no trailing"),
        ('kind = "laser"', 'kind = "laser"\nfooter = "PG; rm"', "footer", 3, "pattern"),
        ("[tools.cut]", '[tools.sew]\ntool = "x"\n[tools.cut]', "tools.sew", 10, "nothing is run"),
    ],
)
def test_what_is_wrong_is_said_in_one_line_with_its_place(tmp_path, old, new, field, line, words):
    assert old in GOOD
    with pytest.raises(MachineError) as caught:
        read(tmp_path, GOOD.replace(old, new))
    error = caught.value
    assert error.field.startswith(field)
    assert error.line == line
    assert words in str(error)
    assert "shop.toml" in str(error)
    assert "\n" not in str(error)


def test_what_is_no_machine_file_is_refused(tmp_path):
    with pytest.raises(MachineError, match="no such file"):
        read_machine(tmp_path / "none.toml")
    with pytest.raises(MachineError, match=r"shop\.toml:2: this is not valid TOML"):
        read(tmp_path, 'name = "x"\nkind laser\n')
    (tmp_path / "b.toml").write_bytes(b"\xff\xfe\x00")
    with pytest.raises(MachineError, match=r"shop\.toml:1: a key has far too many steps"):
        read(tmp_path, "a." * 20_000 + "b = 1")
    with pytest.raises(MachineError, match="a whole number of thousands of digits"):
        read(tmp_path, f"kerf = {'9' * 5000}")
    with pytest.raises(MachineError, match="not a text file"):
        read_machine(tmp_path / "b.toml")


def test_shears_read_no_file(tmp_path):
    text = '\nname = "x"\nkind = "shears"\n[bed]\nlength = 1\nwidth = 1\n'
    assert read(tmp_path, text).reads == ()
    with pytest.raises(MachineError, match="shears read no file"):
        read(tmp_path, 'reads = ["svg"]' + text)


def test_the_page_about_machine_files_is_true(tmp_path):
    """Its example is a machine, and it names every key, kind and format."""
    page = (SHOPS / "README.md").read_text(encoding="utf-8")
    example = page.split("```toml\n")[1].split("```")[0]
    assert read(tmp_path, example).kerf == 0.2
    for model in (machine._File, machine._Bed, machine._Speeds, machine._Tool):
        for key in model.model_fields:
            assert f"`{key}`" in page or f"`[{key}]`" in page or f"`[{key}." in page, key
    for word in (*machine.Kind, *machine.Format, *(f"tools.{op}" for op in machine.RUN)):
        assert word in page
