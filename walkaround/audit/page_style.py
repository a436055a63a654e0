"""The head of the audit's page: no script, no network, light and dark, screen and paper."""

from __future__ import annotations

from walkaround.records.markup import Markup

_STYLE = """
:root { color-scheme: light dark; --ink: #1a1a1a; --paper: #fff; --rule: #767676;
  --band: #fff3c4; --band-ink: #3d2c00; --line: #0b4f9c; --link: #0b4f9c; --limit: #9c1c0b; }
@media (prefers-color-scheme: dark) { :root { --ink: #f0f0f0; --paper: #161616;
  --rule: #9a9a9a; --band: #4a3a00; --band-ink: #fff3c4; --line: #8cc2ff; --link: #8cc2ff;
  --limit: #ff9f8c; } }
body { color: var(--ink); background: var(--paper); margin: 0;
  font: 1rem/1.5 system-ui, sans-serif; overflow-wrap: break-word; }
main, nav, footer { max-width: 64rem; margin: 0 auto; padding: 0 1rem; }
a { color: var(--link); } a:focus-visible, .wide:focus-visible, summary:focus-visible {
  outline: 3px solid var(--link); outline-offset: 2px; }
.skip { position: absolute; left: -99rem; } .skip:focus { position: static; }
nav ul { list-style: none; padding: 0; display: flex; flex-wrap: wrap; gap: .25rem 1.25rem; }
nav a, .records a { display: inline-block; padding: .25rem 0; min-height: 1.5rem; }
h1, h2, h3 { line-height: 1.2; }
h2 { border-bottom: 2px solid var(--rule); padding-bottom: .2rem; margin-top: 2.5rem; }
.banner { background: var(--band); color: var(--band-ink); border: 3px solid currentColor;
  padding: .75rem 1rem; }
.banner strong { font-size: 1.75rem; display: block; }
.informs { font-weight: bold; }
dl { display: grid; grid-template-columns: max-content 1fr; gap: .2rem 1rem; }
dt { font-weight: bold; } dd { margin: 0; overflow-wrap: anywhere; }
ol.looks { padding-left: 2rem; } ol.looks > li { margin: 0 0 1rem; padding-left: .25rem; }
.looks p { margin: .15rem 0; } .topic { border: 1px solid var(--rule); border-radius: .3rem;
  padding: 0 .4rem; font-size: .85rem; white-space: nowrap; }
.records { display: flex; flex-wrap: wrap; gap: 0 1rem; align-items: center; }
.wide { overflow-x: auto; margin: 1rem 0; }
table { border-collapse: collapse; width: 100%; }
caption { text-align: left; font-weight: bold; padding: .3rem 0; }
td a { white-space: nowrap; }
th, td { border: 1px solid var(--rule); padding: .3rem .5rem; text-align: left;
  vertical-align: top; overflow-wrap: break-word; min-width: 4rem; }
tbody th { font-weight: normal; }
figure { margin: 1rem 0; } svg { width: 100%; height: auto; max-width: 36rem; }
svg text { fill: var(--ink); font-size: 13px; }
svg .left { text-anchor: end; dominant-baseline: middle; } svg .right { text-anchor: end; }
svg .grid { stroke: var(--rule); stroke-width: .5; } svg .bar { fill: var(--line); }
svg .line { stroke: var(--line); stroke-width: 2.5; } svg .dot { fill: var(--line); }
svg .limit { stroke: var(--limit); stroke-width: 2; stroke-dasharray: 8 5; }
details > div { margin: 0; } summary { padding: .4rem 0; }
@media print { :root { --ink: #000; --paper: #fff; --rule: #555; --band: #fff; --band-ink: #000;
  --line: #000; --link: #000; --limit: #000; } main { max-width: none; padding: 0; }
  nav, .skip { display: none; } .wide { overflow: visible; }
  tr, figure, ol.looks > li { break-inside: avoid; } thead { display: table-header-group; }
  h2, h3 { break-after: avoid; } }
"""

HEAD = Markup(
    '<head><meta charset="utf-8">'
    '<meta name="viewport" content="width=device-width, initial-scale=1">'
    '<meta name="color-scheme" content="light dark">'
    '<meta name="referrer" content="no-referrer">'
    '<meta http-equiv="Content-Security-Policy" '
    "content=\"default-src 'none'; style-src 'unsafe-inline'; base-uri 'none'; "
    "form-action 'none'\">"
    f"<title>Air-brake checks: audit</title><style>{_STYLE}</style></head>"
)
