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
p { margin-top: 8px; max-width: 62ch; orphans: 3; widows: 3; overflow-wrap: break-word; }
ul { margin-top: 8px; padding-left: 16px; max-width: 62ch; overflow-wrap: break-word; }
li { margin-top: 4px; }
b { font-weight: 600; }
a { color: inherit; text-decoration-color: #bdb194; text-underline-offset: 3px; }
a:focus-visible { outline: 2px solid #0a659e; outline-offset: 2px; }
header p { margin-top: 4px; }
.soft, figcaption, caption, nav { color: #5e6063; }
.act { color: #ae3d1b; font-weight: 600; }
.kind { white-space: normal; }
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
th, td { text-align: left; vertical-align: top; padding: 4px 12px 4px 0; overflow-wrap: anywhere; }
th:last-child, td:last-child { padding-right: 0; }
thead th { font-weight: 400; color: #5e6063; vertical-align: bottom; border-bottom: 1px solid #1e252d;
  overflow-wrap: normal; }
tbody th { font-weight: 500; }
tbody tr { border-bottom: 1px solid #d2c9b6; }
.n { text-align: right; white-space: nowrap; overflow-wrap: normal; }
dl.figures { display: flex; flex-wrap: wrap; gap: 12px 32px; margin-top: 20px; }
dl.figures dt { font-size: 12px; line-height: 16px; color: #5e6063; }
dl.figures dd { font-size: 14px; line-height: 28px; }
dl.figures b { font-size: 28px; font-weight: 500; letter-spacing: -0.015em; }
article { margin-top: 28px; padding-top: 8px; border-top: 1px solid #d2c9b6; }
article h3 { margin-top: 0; }
blockquote { font-size: 18px; line-height: 24px; }
blockquote p { margin-top: 4px; max-width: none; }
.beside { display: flex; gap: 24px; align-items: flex-start; }
.beside > dl { flex: 1 1 0; min-width: 0; }
.beside > figure { flex: 0 0 300px; margin-top: 12px; }
.beside dt { margin-top: 12px; font-size: 12px; line-height: 16px; color: #5e6063; }
.beside p, .beside ul { margin-top: 2px; }
.beside li { margin-top: 2px; }
.whole { break-inside: avoid; }
@media (max-width: 620px) {
  .beside { display: block; }
  table { display: block; overflow-x: auto; }
}
@media print {
  body { max-width: none; width: 672px; padding: 0; }
  nav { display: none; }
  a { text-decoration: none; }
  h2 { margin-top: 36px; }
}
)css";

}  // namespace stonecall::debrief
