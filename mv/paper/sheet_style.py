"""The look of a printed page on the screen and on paper."""

STYLE = """
:root { color-scheme: light; --paper:#f4f6f5; --sheet:#fff; --ink:#17242a; --muted:#4f6068; --rule:#d3dbdc;
  --metered:#0d6480; --expected:#c0700a; --attention:#8a35b5; }
* { box-sizing: border-box; }
html { -webkit-text-size-adjust: 100%; }
body { margin: 0; background: var(--paper); color: var(--ink); line-height: 1.5; font-size: 1rem;
  font-family: 'Libertinus Serif', Charter, 'Bitstream Charter', 'Sitka Text', Cambria, Georgia, serif;
  font-variant-numeric: lining-nums tabular-nums; }
main { max-width: 48rem; margin: 0 auto; padding: clamp(1rem, 4vw, 3rem); background: var(--sheet);
  min-height: 100vh; overflow-wrap: break-word; }
header { border-bottom: 3px double var(--rule); padding-bottom: .8rem; margin-bottom: 1.2rem; }
h1 { font-size: clamp(1.35rem, 4.5vw, 1.9rem); line-height: 1.2; margin: 0 0 .3rem; text-wrap: balance; }
h2 { font-size: 1.2rem; line-height: 1.3; margin: 2.1rem 0 .6rem; text-wrap: balance; }
h2 .letter { color: var(--muted); font-weight: 400; margin-right: .6em; }
h3 { font-size: 1rem; margin: 1.2rem 0 .3rem; text-wrap: balance; }
p { margin: .45rem 0; max-width: 42rem; text-wrap: pretty; }
.sub, .note, figcaption { color: var(--muted); font-size: .92rem; }
.lead { font-size: 1.12rem; }
.cannot { border-left: 3px double var(--muted); padding-left: .8rem; color: var(--muted); }
ul, ol { margin: .45rem 0; padding-left: 1.3rem; max-width: 42rem; }
li { margin: .2rem 0; }
.figures { display: grid; grid-template-columns: repeat(auto-fit, minmax(9.4rem, 1fr)); gap: .2rem 1.2rem;
  margin: 1rem 0; }
.one-page .figures { grid-template-columns: repeat(auto-fit, minmax(7.3rem, 1fr)); gap: .2rem .9rem; }
.figures div { border-top: 2px solid var(--metered); padding: .35rem 0 .6rem; }
.figures dt { font-size: .92rem; color: var(--muted); }
.figures .value { margin: 0; font-size: 1.45rem; line-height: 1.25; }
.figures .detail { margin: 0; font-size: .9rem; color: var(--muted); }
.facts { margin: .6rem 0; font-size: .95rem; }
.facts div { display: grid; grid-template-columns: minmax(7rem, 14rem) minmax(0, 1fr); gap: 0 1.2rem;
  padding: .22rem 0; border-bottom: 1px solid var(--rule); }
.facts dt { color: var(--muted); }
.facts dd { margin: 0; }
figure { margin: 1.1rem 0; }
figure svg { display: block; width: 100%; height: auto; }
figure .narrow { display: none; }
figcaption { margin-top: .35rem; max-width: 42rem; }
.wide { overflow-x: auto; } .wide, .stack { margin: .9rem 0; }
table { border-collapse: collapse; font-size: .88rem; width: 100%; }
caption { text-align: left; font-weight: 700; padding-bottom: .3rem; }
th, td { text-align: left; vertical-align: top; padding: .25rem .8rem .25rem 0; border-bottom: 1px solid var(--rule); }
th:last-child, td:last-child { padding-right: 0; }
thead th { color: var(--muted); font-weight: 600; vertical-align: bottom; border-bottom: 1.5px solid var(--muted); }
.right { text-align: right; white-space: nowrap; }
thead .right { white-space: normal; }
tr.total > * { border-top: 1.5px solid var(--muted); font-weight: 700; }
tr.total + tr.total > * { border-top: 0; }
.caution { border: 1.5px solid var(--expected); padding: .5rem 1rem; margin: 1.2rem 0; }
.caution h3 { margin: .2rem 0; }
.notice { border-left: 4px solid var(--attention); padding: .1rem 0 .1rem 1rem; margin: 1.2rem 0;
  break-inside: avoid; }
.notice h3 { margin-top: 0; }
.notice p, .notice ol { margin: .2rem 0; }
.pair { display: grid; grid-template-columns: repeat(auto-fit, minmax(min(100%, 18rem), 1fr)); gap: 0 2rem; }
.pair figure { min-width: 0; margin: 0 0 .8rem; } .pair h3 { margin-top: 0; }
@media (min-width: 46rem) { .notices { columns: 2; column-gap: 2rem; } .notices .notice { margin-top: 0; } }
.paper-only { display: none; } .notice figure { margin: .5rem 0; }
.notice .aside { font-size: .88rem; color: var(--muted); }
.signatures { display: grid; grid-template-columns: repeat(auto-fit, minmax(15rem, 1fr)); gap: 2.6rem 2rem;
  margin: 3rem 0 1rem; }
.signatures p { border-top: 1px solid var(--ink); padding-top: .2rem; font-size: .9rem; margin: 0; }
footer { margin-top: 2.5rem; padding-top: .6rem; border-top: 1px solid var(--rule); color: var(--muted);
  font-size: .85rem; }
@media (max-width: 34rem) {
  figure .narrow { display: block; } figure .narrow + .broad { display: none; }
  .facts div { grid-template-columns: minmax(0, 1fr); } .facts dt { font-size: .88rem; }
  .wide table { min-width: 30rem; }
  .wide caption { position: sticky; left: 0; max-width: calc(100vw - 2rem); }
  .stack thead { position: absolute; clip-path: inset(50%); width: 1px; height: 1px; overflow: hidden; }
  .stack table, .stack tbody, .stack tr, .stack td, .stack caption { display: block; }
  .stack tr { border-bottom: 1px solid var(--muted); padding: .3rem 0; }
  .stack td { display: grid; grid-template-columns: 7.5rem minmax(0, 1fr); gap: .8rem; border: 0; padding: .08rem 0;
    text-align: left; white-space: normal; }
  .stack td::before { content: attr(data-head); color: var(--muted); }
}
@page { margin: 14mm 15mm 15mm; }
@page tight { margin: 11mm 13mm; }
@media print {
  .stack { break-inside: avoid; } p, ul, ol, figcaption { max-width: none; }
  .pair { grid-template-columns: 1fr 1fr; } .notices { columns: 2; column-gap: 1.5rem; }
  .notices .notice { margin-top: 0; }
  :root { font-size: 9.2pt; } body { background: #fff; line-height: 1.4; }
  main { max-width: none; padding: 0; min-height: 0; } header { margin-bottom: .7rem; } .figures { margin: .5rem 0; }
  h1 { font-size: 1.6rem; } h2 { margin: 1.1rem 0 .4rem; } figure { margin: .6rem 0; } .notice { margin: 0 0 .8rem; }
  td, th { padding-top: .14rem; padding-bottom: .14rem; } h2, h3, caption { break-after: avoid; } figure, tr, .caution, .figures { break-inside: avoid; }
  thead { display: table-header-group; } .wide { overflow: visible; }
  * { print-color-adjust: exact; -webkit-print-color-adjust: exact; }
  .screen-only { display: none; } .paper-only { display: block; }
  .one-page .notice figure { margin: .1rem 0 0; max-width: 58mm; } .one-page .notice figcaption { display: none; }
  .one-page { page: tight; font-size: 8pt; line-height: 1.24; }
  .one-page.larger main { zoom: 1.1; }
  .one-page h1 { font-size: 13pt; margin: 0; } .one-page header { padding-bottom: .15rem; margin-bottom: .3rem; }
  .one-page h2 { font-size: 9.6pt; margin: .5rem 0 .2rem; } .one-page h3 { font-size: 8.2pt; margin: 0 0 .1rem; }
  .one-page section:has(> h2 + .pair) > h2 { display: none; } .one-page section:has(> h2 + .pair) { margin-top: .5rem; }
  .one-page p { margin: .12rem 0; } .one-page .sub { margin: 0; } .one-page .lead { font-size: 10pt; }
  .one-page .note, .one-page figcaption, .one-page .figures .detail, .one-page .figures dt { font-size: 7.6pt; }
  .one-page .figures { grid-auto-flow: column; grid-auto-columns: 1fr; grid-template-columns: none; gap: 0 .9rem;
    margin: .3rem 0; }
  .one-page .figures div { padding: .12rem 0 0; } .one-page .figures .value { font-size: 11pt; }
  .one-page .pair { gap: 0 1.2rem; } .one-page .pair figure { margin: 0; } .one-page .pair svg { max-height: 35mm; }
  .one-page figcaption { margin-top: .1rem; } .one-page .stack { margin: 0; } .one-page table { font-size: 7.8pt; }
  .one-page td, .one-page th { padding-top: .03rem; padding-bottom: .03rem; }
  .one-page .notices { columns: auto; display: grid; grid-auto-flow: column; grid-auto-columns: 1fr; gap: 0 1rem; }
  .one-page .notice { margin: 0; padding-left: .5rem; border-left-width: 2.5px; }
  .one-page .notice p, .one-page .notice ol { margin: .06rem 0; } .one-page .notice .aside { font-size: 7.4pt; }
  .one-page .notice li:nth-child(n + 3) { display: none; }
  .one-page .caution { margin: .3rem 0 0; padding: .15rem .6rem; font-size: 7.4pt; }
  .one-page .caution h3 { display: none; } .one-page li { margin: .02rem 0; } .one-page footer { margin-top: .3rem;
    padding-top: .1rem; font-size: 7.4pt; }
}
"""  # noqa: E501
