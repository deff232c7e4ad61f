"""The report's style sheet: our own, for screens of any width and paper of any size."""

from __future__ import annotations

__all__ = ["STYLE"]

STYLE = """
:root { --ink: #22262b; --soft: #6b6459; --line: #918978; --paper: #ffffff; --warm: #f3efe6;
  --bad: #8c3b2e; }
* { box-sizing: border-box; }
body { margin: 0 auto; max-width: 62rem; padding: 2rem 1.5rem; background: var(--paper);
  color: var(--ink); font: 15px/1.5 "Segoe UI", "Helvetica Neue", Helvetica, Arial, sans-serif; }
h1 { font-size: 1.9rem; margin: 0; } h2 { font-size: 1.35rem; margin: 0 0 .2rem; }
h3 { font-size: 1rem; margin: 1.4rem 0 .3rem; }
header p, .soft { color: var(--soft); margin: .2rem 0; }
section { border-top: 2px solid var(--ink); margin-top: 2.2rem; padding-top: .8rem; }
table { border-collapse: collapse; width: 100%; margin: .4rem 0; }
th { font-weight: 600; text-align: left; border-bottom: 1.5px solid var(--ink); }
th, td { padding: .28rem .6rem .28rem 0; vertical-align: top; }
td, tbody th { border-bottom: 1px solid var(--line); } tbody th { font-weight: inherit; }
caption { position: absolute; width: 1px; height: 1px; overflow: hidden; clip-path: inset(50%);
  white-space: nowrap; }
.table { overflow-x: auto; position: relative; }
:focus-visible { outline: 2px solid var(--ink); outline-offset: 2px; }
a { color: inherit; } nav ul { columns: 15rem; padding-left: 1.2rem; } nav { margin-top: 1.4rem; }
.n { text-align: right; font-variant-numeric: tabular-nums; } td.n { white-space: nowrap; }
tfoot td, tfoot th { border-bottom: 0; font-weight: 600; }
figure { margin: .8rem 0; }
figure svg { display: block; width: 100%; height: auto; max-height: 200mm; font-family: inherit; }
figure svg + svg { margin-top: .5rem; }
figcaption { color: var(--soft); font-size: .85rem; }
dl { display: grid; grid-template-columns: repeat(auto-fill, minmax(13rem, 1fr)); gap: .7rem 1.4rem;
  margin: .9rem 0; }
dt { color: var(--soft); font-size: .85rem; }
dd { margin: 0; font-size: 1.12rem; font-weight: 600; }
dd small { display: block; font-size: .78rem; font-weight: 400; color: var(--soft); }
.key { display: inline-block; min-width: 1.7em; padding: 0 .35em; text-align: center;
  border: 1px solid var(--ink); border-radius: 3px; }
.bad { border: 2px solid var(--bad); border-radius: 4px; padding: .6rem 1rem; margin: 1rem 0;
  color: var(--bad); }
.bad strong { display: block; } .bad ul { margin: .3rem 0 0; padding-left: 1.2rem; }
.care { background: var(--warm); border-radius: 4px; padding: .6rem 1rem; }
li { margin: .25rem 0; }
@media screen and (max-width: 40rem) {
  body { padding: 1rem; } table { font-size: .82rem; line-height: 1.3; }
  th, td { padding-right: .35rem; } tr > :last-child { padding-right: 0; }
  td.n { white-space: normal; } h1 { font-size: 1.5rem; }
  dl { grid-template-columns: repeat(auto-fill, minmax(9rem, 1fr)); }
}
@page { margin: 14mm; }
@media print {
  body { max-width: none; padding: 0; font-size: 9.5pt; line-height: 1.35; }
  .spread + .spread, .material { break-before: page; } .table { overflow: visible; }
  section { margin-top: 1rem; padding-top: .5rem; } h3 { margin: .7rem 0 .2rem; }
  .material, .spread + .spread { border-top: 0; margin-top: 0; padding-top: 0; }
  figure, tr, dl > div, .bad, .care li { break-inside: avoid; }
  figure { margin: .4rem 0; } figure svg { max-height: 95mm; }
  .spread figure svg { max-height: 80mm; } figcaption { font-size: 8pt; }
  dl { grid-template-columns: repeat(5, 1fr); gap: .25rem .8rem; margin: .4rem 0; }
  dt, dd small { font-size: 7.5pt; } dd { font-size: 9.5pt; }
  th, td { padding: .08rem .5rem .08rem 0; } li { margin: .08rem 0; } ul { margin: .2rem 0; }
  p { margin: .2rem 0; } table { margin: .2rem 0; }
  tfoot { display: table-row-group; } .screen { display: none; }
  h2, h3 { break-after: avoid; }
  * { print-color-adjust: exact; -webkit-print-color-adjust: exact; }
}
"""
