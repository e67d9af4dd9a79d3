"""The look of the page. One sheet, 190 mm wide, that fits on A4 and on US letter."""

from __future__ import annotations

from typing import Final

CSS: Final = """
@page { margin: 9mm 10mm; }
* { box-sizing: border-box; }
html { background: #e6eaed; }
body { margin: 0; color: #16202c; font: 11px/1.32 "Segoe UI", "Helvetica Neue", Arial,
  "Liberation Sans", sans-serif; -webkit-print-color-adjust: exact; print-color-adjust: exact; }
.sheet { width: 718px; margin: 18px auto; padding: 0; background: #fff;
  box-shadow: 0 0 0 20px #fff, 0 1px 10px 20px rgba(22,32,44,.12); }
header { border-bottom: 2px solid #16202c; padding-bottom: 5px; margin-bottom: 7px;
  display: flex; justify-content: space-between; align-items: baseline; }
h1 { font-size: 15px; margin: 0; letter-spacing: .01em; }
header span { color: #5c6773; font-size: 10px; }
.answer { font-size: 14px; line-height: 1.3; margin: 0 0 8px; }
.top { display: grid; grid-template-columns: 1fr 300px; gap: 14px; margin-bottom: 6px;
  align-items: start; }
.verdict { display: flex; gap: 10px; align-items: flex-start; }
.verdict svg { flex: none; width: 46px; height: 46px; }
.verdict strong { display: block; font-size: 17px; line-height: 1.1; letter-spacing: .03em; }
.verdict ul { margin: 3px 0 0; padding-left: 14px; }
.verdict p { margin: 3px 0 0; color: #5c6773; }
table { border-collapse: collapse; width: 100%; }
td { padding: 1.5px 0; border-bottom: 1px solid #e1e5e8; vertical-align: top; }
td:first-child { color: #5c6773; padding-right: 8px; white-space: nowrap; }
h2 { font-size: 11px; margin: 3px 0 0; display: flex; flex-wrap: wrap; align-items: center;
  column-gap: 12px; }
h2 b { font-weight: 700; }
h2 span { font-weight: 400; font-size: 10px; display: inline-flex; align-items: center; gap: 4px; }
.chart { width: 718px; overflow: hidden; }
#ribbon { margin-bottom: -2px; }
.below { display: grid; grid-template-columns: 1fr 264px; gap: 16px; margin-top: 6px; }
.below ul { list-style: none; margin: 0; padding: 0; }
.below p { margin: 2px 0; }
.events li { padding: 1.5px 0 1.5px 92px; border-bottom: 1px solid #eef0f2; }
.events time { float: left; min-width: 92px; margin-left: -92px; padding-right: 6px;
  color: #5c6773; font-variant-numeric: tabular-nums; }
.events .mark { font-weight: 700; color: #16202c; }
.events i { font-style: normal; color: #5c6773; }
.hardware p:first-of-type, .hardware ul { margin: 0; }
.hardware li { padding: 0 0 0 17px; position: relative; }
.hardware li::before { position: absolute; left: 0; font-weight: 700; }
.hardware .yes::before { content: "\\2713"; }
.hardware .no::before { content: "\\2013"; }
.hardware .no { color: #5c6773; }
.cautions { font-size: 9.5px; border-top: 1px solid #16202c; margin: 5px 0 0; padding-top: 3px; }
footer { margin-top: 4px; color: #5c6773; font-size: 9.5px; overflow-wrap: anywhere; }
footer code { color: #16202c; font-family: "DejaVu Sans Mono", Consolas, monospace; }
@media print {
  html { background: none; }
  .sheet { margin: 0 auto; box-shadow: none; zoom: var(--upright, 1); }
}
@media print and (orientation: landscape) {
  .sheet { zoom: var(--lying, .7); }
}
"""



def fit(selector: str, above_px: int = 0) -> str:
    """Script that keeps one part of the page on one printed side: what is too tall is smaller.

    ``above_px`` stands over it on the same side. The least printable heights are those of US
    letter: 279 and 216 mm less the margins, at 96 px an inch.
    """
    return f"""
const part = document.querySelector("{selector}");
function fit() {{
  const tall = part.getBoundingClientRect().height;
  part.style.setProperty("--upright", Math.min(1, {975 - above_px} / tall));
  part.style.setProperty("--lying", Math.min(1, {710 - above_px} / tall));
}}
window.addEventListener("load", fit);
new ResizeObserver(() => {{ if (!matchMedia("print").matches) fit(); }}).observe(part);
"""
