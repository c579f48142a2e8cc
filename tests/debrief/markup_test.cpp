#include "console/debrief/markup.hpp"

#include <catch2/catch.hpp>

using namespace stonecall::debrief;

TEST_CASE("text that becomes markup can not bring elements, entities or attributes with it") {
  CHECK(Markup("<b>&\"'").html() == "&lt;b&gt;&amp;&quot;&#39;");
  CHECK(element("td", "</td><script>").html() == "<td>&lt;/td&gt;&lt;script&gt;</td>\n");
  CHECK(element("a", {{"href", "#x\" onclick=\"y"}}, "z").html() ==
        "<a href=\"#x&quot; onclick=&quot;y\">z</a>");
}

TEST_CASE("markup inside markup is not escaped twice") {
  CHECK(element("p", element("b", "a & b") + " c").html() == "<p><b>a &amp; b</b> c</p>\n");
}

TEST_CASE("what no page may hold is replaced") {
  CHECK(Markup(std::string("a\0b\x1B", 4)).html() == "a\uFFFDb\uFFFD");
  CHECK(Markup("r\xF8r").html() == "r\uFFFDr");  // Latin-1, not UTF-8
}

TEST_CASE("a figure is never parted from its percent sign") {
  CHECK(Markup("mean and 90 % interval, 45–55 %").html() ==
        "mean and 90\u00A0% interval, 45–55\u00A0%");
  CHECK(Markup("50 of a % sign").html() == "50 of a % sign");
}

TEST_CASE("a table has a heading for each column and each row") {
  Table table("Bags", {{"Bag"}, {"Rocks", true}});
  table.row({"31", "4"});
  const std::string html = table.markup().html();
  CHECK(html.find("<caption>Bags</caption>") != std::string::npos);
  CHECK(html.find("<th scope=\"col\">Bag</th>") != std::string::npos);
  CHECK(html.find("<th scope=\"col\" class=\"n\">Rocks</th>") != std::string::npos);
  CHECK(html.find("<th scope=\"row\">31</th>") != std::string::npos);
  CHECK(html.find("<td class=\"n\">4</td>") != std::string::npos);
}

TEST_CASE("a name in the style sheet can end neither its string nor the sheet") {
  const std::string name = css_string("a\"b\\c</style>\nd;}");
  CHECK(name == "\"a\\000022b\\00005cc\\00003c\\00002fstyle\\00003e d\\00003b\\00007d\"");
  CHECK(css_string("Ravnhøl") == "\"Ravnhøl\"");
  CHECK(css_string("r\xF8") == "\"r\uFFFD\"");
}
