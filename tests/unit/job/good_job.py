"""A good job as text, and two of its shapes that cases put others in the place of."""

from __future__ import annotations

GOOD = """\
[job]
name = "Pouch"

[[piece]]
name = "front"
rectangle = ["20 cm", "15 cm"]
line = "cutting"
seam_allowance = "10 mm"
fold_back = [[0, 100], [200, 100]]
named_points = { corner = [10, 10], other = [190, 10] }

    [[piece.mark]]
    kind = "notch"
    at = [100, 0]

[[piece]]
name = "disc"
circle = "6 cm"

[[cloth]]
name = "canvas"
width = "140 cm"
nap = "one-way"
print = { along = "8 cm", across = "6 cm" }

[[cloth]]
name = "lining"
widths = ["90 cm", "110 cm"]

[[sheet]]
name = "foam"
size = ["50 cm", "40 cm"]
count = 3

[[leather]]
name = "hide leather"

    [[leather.hide]]
    name = "hide 1"
    rectangle = ["60 cm", "50 cm"]

        [[leather.hide.flaw]]
        circle = 30
        at = [300, 250]

        [[leather.hide.zone]]
        grade = "A"
        rectangle = [300, 500]

[[cut]]
piece = "front"
material = ["canvas", "lining"]
copies = 2

[[cut]]
piece = "front"
material = "foam"
trimmed = true

[[cut]]
piece = "disc"
material = "hide leather"
grade = "A"
"""

BOW_TIE = "points = [[0, 0], [200, 150], [200, 0], [0, 150]]"
RECTANGLE = 'rectangle = ["20 cm", "15 cm"]'
