"""The rules of the trade said a second time, slowly and plainly: what a job asks of its answer.

It reads the job file itself and ``plan.json`` as plain JSON, and uses nothing of `nesting`:
shapes are finely sampled polygons of shapely's. `judge.broken` lists what a plan breaks.

`asked`, what the job says:

=============== ==============================================================================
`amounts`       lengths, shares and directions as they are written
`shapes`        outlines of a job file, their edges and corners
`widening`      the cutting line from the sewing line, edge by edge
`pattern`       pieces as drawn: allowances, folds, marks, named points
`variants`      pieces as they are cut: trimmed, folded back, upright, mirrored
`goods`         materials: where parts may lie, how far apart
`shelf`         a stock file, and the goods with what it has of them
`cutting_list`  everything that has to be there, and which one it is
=============== ==============================================================================

`rules`, what a plan has to obey:

=============== ==============================================================================
`answer`        the plan as it is written
`directions`, `zones`, `prints`, `joins`, `buying`  a rule each
`spreading`     of an order: what comes off all plies, table, rolls, splices
`judge`         all of them
=============== ==============================================================================

`shown`, what is handed out:

=============== ==============================================================================
`drawings`      what the DXF and SVG files of a plan show; `files` reads them
`marks`         what has to be drawn on each part
`shopping`      the buying list: as it is told, for a spreadsheet, in the report
`paper`, `templates`  prints at true scale; `pdf` reads them
`machines`      files for a machine, in each format; `runs` reads them
`worked`        what a machine does within its parts: holes, lines, notches
`left`          what is left in a stock file once a plan is cut
=============== ==============================================================================

Not judged here: how zones of a hide are guessed from its outline (only that they are said to be
guessed), how close together mates lie (only that they are on one sheet, or told), pieces from
pattern files, several widths' choice by cost, the zones of what is left of a
hide, over-cut and a blade's offset, windows of a bed that advances, common lines, loads of a
bed against the work sheet, labels.
"""
