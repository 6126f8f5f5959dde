"""The style of every page: paper and ink by day, slate by night, one column on a phone, A4 in print.

Drawings have theirs apart, for those that stand in a file of their own.
"""

COLOURS = """
:root { color-scheme: light dark; --ground: #fbf8f1; --card: #f3eddf; --ink: #23303a; --soft: #5c6770; --rule: #d6ccb6;
  --body: #e9dfc8; --bore: #cdbf9f; --hole: #fffdf8; --a: #0d6a60; --b: #b0491a; --c: #5b4aa3; --d: #7b6406;
  --e: #23679c; --f: #a02a5f; --g: #4c6b1f; --h: #55565c; --bad: #a3142a; --good: #0d6a60; --warn: #8f5500; }
@media (prefers-color-scheme: dark) { :root { --ground: #161c21; --card: #1f272e; --ink: #e8e3d7; --soft: #a4adb3;
  --rule: #3a444c; --body: #3b4037; --bore: #59604f; --hole: #10151a; --a: #55c4b3; --b: #f09a66; --c: #b3a5f2;
  --d: #d9bf55; --e: #7db9e8; --f: #ec86b3; --g: #a8cc70; --h: #b9bcc2; --bad: #ff8a95; --good: #55c4b3;
  --warn: #efb159; } }
"""

DRAWINGS = """
.drawing { font-size: 12px; font-family: "Avenir Next", "Segoe UI", "DejaVu Sans", Helvetica, Arial, sans-serif; }
.drawing text { fill: var(--ink); }
.drawing .soft { fill: var(--soft); }
.drawing .end { text-anchor: end; } .drawing .mid { text-anchor: middle; } .drawing .bold { font-weight: 700; }
.body * { vector-effect: non-scaling-stroke; }
.body text { paint-order: stroke; stroke: var(--ground); stroke-width: 4px; stroke-linejoin: round; }
.rule { stroke: var(--rule); fill: none; } .axis { stroke: var(--soft); fill: none; }
.lead { stroke: var(--soft); stroke-width: .6; fill: none; }
.outside { fill: var(--body); stroke: var(--ink); stroke-width: .9; } .crook { fill: none; stroke: var(--ink); }
.inside { fill: var(--bore); stroke: none; opacity: .55; }
.cup { fill: none; stroke: var(--soft); stroke-width: .9; } .cup.far { stroke-dasharray: 2 2; }
.hole { fill: var(--hole); stroke: var(--ink); stroke-width: 1.1; }
.hole.far { fill: none; stroke-dasharray: 2 2; }
.ring { fill: none; stroke: var(--b); stroke-width: 1.6; } .print { fill: var(--b); }
.joint { stroke: var(--b); stroke-width: 1.2; fill: none; } .zone { fill: var(--b); opacity: .16; }
.rod { stroke: var(--c); stroke-width: 1; opacity: .55; fill: none; }
.touch { fill: var(--c); stroke: var(--ground); stroke-width: .8; }
.touch.far { fill: var(--ground); stroke: var(--c); }
.drawing text.finger { fill: var(--a); font-weight: 700; } .drawing text.keyed { fill: var(--c); }
.drawing text.jointed { fill: var(--b); }
.finger-lead { stroke: var(--a); stroke-width: .8; } .key-lead { stroke: var(--c); stroke-width: .5; opacity: .7; }
.band { fill: var(--card); } .spread { stroke: var(--soft); stroke-width: 1.4; opacity: .6; fill: none; }
.closed { fill: var(--ink); stroke: var(--ink); } .open { fill: none; stroke: var(--ink); stroke-width: 1.2; }
.pipe { stroke: var(--rule); stroke-width: 2; fill: none; }
.easy { fill: var(--a); opacity: .28; } .tight { fill: var(--warn); opacity: .38; }
.over { fill: var(--bad); opacity: .38; }
.at { stroke: var(--ink); stroke-width: 2.4; }
.dot { stroke: var(--ground); stroke-width: .8; } a .dot { cursor: pointer; } a:hover .dot { stroke: var(--ink); }
.mark-a { --mark: var(--a); } .mark-b { --mark: var(--b); } .mark-c { --mark: var(--c); } .mark-d { --mark: var(--d); }
.mark-e { --mark: var(--e); } .mark-f { --mark: var(--f); } .mark-g { --mark: var(--g); } .mark-h { --mark: var(--h); }
.dot, .bar { fill: var(--mark); } .drawing text.named, .tag { fill: var(--mark); color: var(--mark); font-weight: 700; }
.chosen .dot { stroke: var(--ink); stroke-width: 3; }
"""

PAGES = """
* { box-sizing: border-box; }
body { margin: 0 auto; max-width: 1120px; padding: 1.2rem; background: var(--ground); color: var(--ink);
  font: 16px/1.5 "Iowan Old Style", Charter, "DejaVu Serif", Georgia, serif; }
h1, h2, h3, th, nav, label, select, button, .tag { font-family: "Avenir Next", "Segoe UI", "DejaVu Sans",
  Helvetica, Arial, sans-serif; }
h1 { font-size: 1.7rem; line-height: 1.2; margin: 0 0 .3rem; }
h2 { font-size: 1.25rem; border-bottom: 2px solid var(--rule); padding-bottom: .2rem; margin: 2.2rem 0 .8rem; }
h3 { font-size: 1rem; margin: 1.6rem 0 .4rem; }
p, ul { margin: .4rem 0 .8rem; max-width: 46rem; overflow-wrap: anywhere; }
a { color: var(--a); }
.columns { columns: 2 22rem; max-width: none; }
p.soft, ul.soft { color: var(--soft); font-size: .9rem; }
.wide { overflow-x: auto; }
.panels { display: grid; grid-template-columns: repeat(auto-fit, minmax(min(300px, 100%), 1fr)); gap: 1.2rem; }
.panels > * { min-width: 0; }
figure { margin: .6rem 0 1rem; }
figcaption { color: var(--soft); font-size: .9rem; }
table { border-collapse: collapse; font-size: .88rem; font-variant-numeric: tabular-nums; }
caption { text-align: left; color: var(--soft); padding-bottom: .3rem; }
th, td { padding: .16rem .7rem .16rem 0; text-align: left; vertical-align: baseline; white-space: nowrap; }
td.n, th.n { text-align: right; }
td.w { white-space: normal; min-width: 9rem; }
thead th { border-bottom: 1px solid var(--ink); font-size: .8rem; }
tbody tr { border-bottom: 1px solid var(--rule); }
tbody th { font-weight: 600; }
.bad { color: var(--bad); font-weight: 600; } .good { color: var(--good); } .warn { color: var(--warn); }
.drawing:not(.strip) { display: block; width: 100%; height: auto; }
.chart { max-width: 620px; } .panel { max-width: 460px; }
.body { min-width: 700px; } .notes { min-width: 820px; }
.strip { vertical-align: middle; }
.layout { display: none; } .layout.first, .layout.shown, .layout:target { display: block; }
body.live .layout { display: none; } body.live .layout.shown { display: block; }
.picker { display: none; gap: .6rem; align-items: center; flex-wrap: wrap; position: sticky; top: 0; z-index: 1;
  background: var(--ground); border-bottom: 1px solid var(--rule); padding: .5rem 0; }
body.live .picker { display: flex; } body.live .unlive { display: none; }
select, button { font-size: 1rem; padding: .25rem .6rem; color: inherit; background: var(--card);
  border: 1px solid var(--rule); border-radius: 4px; max-width: 100%; }
tr.chosen { background: var(--card); }
@media (max-width: 520px) { body { padding: .8rem; } }
@media print {
  @page { size: A4; margin: 13mm 14mm; }
  :root { color-scheme: light; --ground: #fff; --card: #f4f0e6; --ink: #16202a; --soft: #4a545c; --rule: #cfc6b2;
    --body: #efe7d5; --bore: #d8ccb0; --hole: #fff; --a: #0d6a60; --b: #a8430f; --c: #5b4aa3; --d: #7b6406;
    --e: #23679c; --f: #a02a5f; --g: #4c6b1f; --h: #55565c; --bad: #a3142a; --good: #0d6a60; --warn: #8f5500; }
  * { print-color-adjust: exact; -webkit-print-color-adjust: exact; }
  body { max-width: none; padding: 0; font-size: 10pt; }
  .picker, .screen, body.live .picker { display: none; }
  body.live .layout.first { display: block; } body.live .unlive { display: block; }
  .wide { overflow: visible; } .body, .notes { min-width: 0; }
  .panels { grid-template-columns: repeat(2, 1fr); } .chart { max-width: 110mm; max-height: 225mm; }
  .panels .chart { max-width: 80mm; }
  ul.columns { columns: 2; font-size: 8pt; } figcaption, p.soft, ul.soft { font-size: 8.5pt; }
  thead th { white-space: normal; } th, td { padding: .5pt 6pt .5pt 0; }
  .layout { break-before: page; } figure, tr, li, h2, h3 { break-inside: avoid; }
  h2, h3, caption { break-after: avoid; }
  table { font-size: 8.2pt; } a { color: inherit; text-decoration: none; }
}
"""

STYLE = COLOURS + DRAWINGS + PAGES
