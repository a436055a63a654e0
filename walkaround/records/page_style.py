"""The page's head: no script, no network, light and dark, on a screen and on paper."""

from __future__ import annotations

from walkaround.records.markup import Markup

_STYLE = """
:root { color-scheme: light dark; --ink: #1a1a1a; --paper: #fff; --rule: #767676;
  --band: #fff3c4; --band-ink: #3d2c00; --line: #0b4f9c; }
@media (prefers-color-scheme: dark) { :root { --ink: #f0f0f0; --paper: #161616;
  --rule: #9a9a9a; --band: #4a3a00; --band-ink: #fff3c4; --line: #8cc2ff; } }
body { color: var(--ink); background: var(--paper); margin: 0;
  font: 1rem/1.5 system-ui, sans-serif; }
main { max-width: 64rem; margin: 0 auto; padding: 1rem; }
h1, h2, h3 { line-height: 1.2; }
h2 { border-bottom: 2px solid var(--rule); padding-bottom: .2rem; margin-top: 2rem; }
.banner { background: var(--band); color: var(--band-ink); border: 3px solid currentColor;
  padding: .75rem 1rem; font-size: 1.25rem; }
.banner strong { font-size: 2.5rem; letter-spacing: .08em; display: block; }
.informs { font-weight: bold; }
dl { display: grid; grid-template-columns: max-content 1fr; gap: .2rem 1rem; }
dt { font-weight: bold; } dd { margin: 0; overflow-wrap: anywhere; }
.wide { overflow-x: auto; margin: 1rem 0; }
table { border-collapse: collapse; width: 100%; }
caption { text-align: left; font-weight: bold; padding: .3rem 0; }
th, td { border: 1px solid var(--rule); padding: .3rem .5rem; text-align: left;
  vertical-align: top; overflow-wrap: break-word; }
tbody th { font-weight: normal; }
code { font-size: .8rem; }
figure { margin: 1rem 0; } svg { width: 100%; height: auto; max-width: 48rem; }
svg text { fill: var(--ink); font-size: 13px; }
svg .left { text-anchor: end; dominant-baseline: middle; } svg .below { text-anchor: middle; }
svg .grid { stroke: var(--rule); stroke-width: .5; }
svg .line { fill: none; stroke: var(--line); stroke-width: 2.5; } svg .dot { fill: var(--line); }
@media print { :root { --ink: #000; --paper: #fff; --rule: #555; --band: #fff;
  --band-ink: #000; --line: #000; } main { max-width: none; padding: 0; }
  .wide { overflow: visible; } tr, figure { break-inside: avoid; }
  thead { display: table-header-group; } h2, h3 { break-after: avoid; } }
"""

HEAD = Markup(
    '<head><meta charset="utf-8">'
    '<meta name="viewport" content="width=device-width, initial-scale=1">'
    '<meta name="color-scheme" content="light dark">'
    '<meta name="referrer" content="no-referrer">'
    '<meta http-equiv="Content-Security-Policy" '
    "content=\"default-src 'none'; style-src 'unsafe-inline'\">"
    f"<title>Air-brake check</title><style>{_STYLE}</style></head>"
)
