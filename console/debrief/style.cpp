#include "console/debrief/style.hpp"

namespace stonecall::debrief {

const std::string_view style_sheet = R"css(
:root { color-scheme: light; }
* { box-sizing: border-box; }
html { -webkit-text-size-adjust: 100%; }
body {
  max-width: 720px; margin: 0 auto; padding: 40px 24px 80px; background: #fff; color: #1e252d;
  font: 400 14px/20px Inter, "Helvetica Neue", Arial, "Liberation Sans", sans-serif;
  font-variant-numeric: tabular-nums lining-nums;
  print-color-adjust: exact; -webkit-print-color-adjust: exact;
}
h1, h2, h3, p, ul, dl, dd, figure, blockquote, table { margin: 0; }
h1 { font-size: 28px; line-height: 34px; font-weight: 600; letter-spacing: -0.015em; }
h2 {
  font-size: 18px; line-height: 24px; font-weight: 600; letter-spacing: -0.01em;
  margin-top: 48px; padding-top: 12px; border-top: 1px solid #1e252d;
}
h3 { font-size: 14px; line-height: 20px; font-weight: 600; margin-top: 28px; }
h1, h2, h3 { break-after: avoid; text-wrap: balance; }
p { margin-top: 8px; max-width: 74ch; orphans: 3; widows: 3; overflow-wrap: break-word; }
ul { margin-top: 8px; padding-left: 16px; max-width: 74ch; overflow-wrap: break-word; }
li { margin-top: 4px; }
b { font-weight: 600; }
a { color: inherit; text-decoration-color: #bdb194; text-underline-offset: 3px; }
a:focus-visible { outline: 2px solid #0a659e; outline-offset: 2px; }
header p { margin-top: 4px; }
.soft, figcaption, caption, nav { color: #5e6063; }
.act { color: #ae3d1b; font-weight: 600; }
.kind { display: inline-block; padding-left: 19px; text-indent: -19px; }
.glyph { vertical-align: -2px; margin-right: 5px; }
.store { position: absolute; }
nav { font-size: 12px; line-height: 18px; margin-top: 16px; }
nav ul { list-style: none; padding: 0; max-width: none; display: flex; flex-wrap: wrap; gap: 0 16px; }
nav li { margin: 0; }
figure { margin-top: 16px; break-inside: avoid; }
figure > svg { display: block; max-width: 100%; height: auto; }
figcaption, caption { font-size: 12px; line-height: 16px; }
figcaption { margin-top: 6px; max-width: 80ch; }
caption { text-align: left; padding-bottom: 6px; break-after: avoid; }
table { width: 100%; margin-top: 20px; border-collapse: collapse; font-size: 12px; line-height: 16px; }
thead { display: table-header-group; }
tr { break-inside: avoid; }
th, td { text-align: left; vertical-align: top; padding: 4px 12px 4px 0; overflow-wrap: break-word; }
.name { min-width: 104px; }
th:last-child, td:last-child { padding-right: 0; }
thead th { font-weight: 400; color: #5e6063; vertical-align: bottom; border-bottom: 1px solid #1e252d;
  overflow-wrap: normal; }
tbody th { font-weight: 500; }
tbody tr { border-bottom: 1px solid #d2c9b6; }
.n { text-align: right; white-space: nowrap; }
thead .n { white-space: normal; }
ul.figures { list-style: none; padding: 0; max-width: none; margin-top: 20px;
  display: grid; grid-template-columns: repeat(auto-fit, minmax(120px, 1fr)); gap: 12px 16px; }
ul.figures li { font-size: 12px; line-height: 16px; margin: 0; }
ul.figures b { display: block; font-size: 28px; line-height: 34px; font-weight: 500; letter-spacing: -0.015em; }
article { margin-top: 22px; padding-top: 8px; border-top: 1px solid #d2c9b6; break-inside: avoid; }
article h3 { margin-top: 0; font-size: 12px; line-height: 16px; font-weight: 400; color: #5e6063; }
blockquote { break-after: avoid; }
blockquote p { margin-top: 2px; max-width: none; font-weight: 600; }
.columns { display: grid; grid-template-columns: 1fr 1.15fr 1fr; gap: 20px; margin-top: 4px;
  font-size: 11px; line-height: 14px; }
.columns > div { min-width: 0; }
.columns p, .columns ul { margin-top: 2px; }
.columns li { margin-top: 1px; }
.columns h4 { font-size: 11px; line-height: 14px; }
.columns div > h4:first-child { margin-top: 4px; }
article > table { margin-top: 8px; font-size: 11px; line-height: 14px; }
article > table caption { font-size: 11px; line-height: 14px; padding-bottom: 2px; }
article > table th, article > table td { padding: 0 10px 0 0; vertical-align: middle; }
article > table thead th { vertical-align: bottom; }
td > svg { display: block; }
article > table th { white-space: nowrap; }
.axis { display: flex; justify-content: space-between; width: 190px; }
h4 { margin: 10px 0 0; font-size: 12px; line-height: 16px; font-weight: 400; color: #5e6063; break-after: avoid; }
.whole { break-inside: avoid; }
section > h2 + p { break-after: avoid; break-inside: avoid; }
@media (max-width: 620px) {
  .columns { display: block; }
  table { display: block; overflow-x: auto; }
}
@media print {
  body { max-width: none; width: 672px; padding: 0; }
  nav { display: none; }
  a { text-decoration: none; }
  h2 { margin-top: 36px; }
  #samples { break-before: page; }
  #samples h2 { margin-top: 0; }
  #method table { margin-top: 12px; font-size: 11px; line-height: 14px; }
  #method th, #method td { padding-top: 2px; padding-bottom: 2px; }
}
)css";

}  // namespace stonecall::debrief
