#include "console/debrief/markup.hpp"

#include <cassert>
#include <cctype>

#include <fmt/format.h>

#include "console/charts/svg.hpp"

namespace stonecall::debrief {

namespace {

/// A figure stays on one line with its percent sign.
std::string kept_together(std::string text) {
  constexpr std::string_view apart = " %", together = "\u00A0%";
  for (std::size_t at = text.find(apart, 1); at != std::string::npos; at = text.find(apart, at + 1))
    if (text[at - 1] >= '0' && text[at - 1] <= '9') text.replace(at, apart.size(), together);
  return text;
}

}  // namespace

Markup::Markup(std::string_view text) : html_(kept_together(charts::xml_escaped(text))) {}

Markup Markup::verbatim(std::string html) {
  Markup markup;
  markup.html_ = std::move(html);
  return markup;
}

Markup& Markup::operator+=(const Markup& more) {
  html_ += more.html_;
  return *this;
}

Markup element(std::string_view tag, const Markup& inside) {
  return element(tag, {}, inside);
}

Markup element(std::string_view tag, const Attributes& attributes, const Markup& inside) {
  std::string html = "<" + std::string(tag);
  for (const auto& [name, value] : attributes)
    html += " " + std::string(name) + "=\"" + charts::xml_escaped(value) + "\"";
  html += ">";
  html += inside.html();
  html += "</" + std::string(tag) + ">";
  // A line each for what stands on its own, so that the source can be read and compared.
  if (tag != "span" && tag != "b" && tag != "a" && tag != "time") html += "\n";
  return Markup::verbatim(std::move(html));
}

Table::Table(std::string caption, std::vector<Column> columns)
    : caption_(std::move(caption)), columns_(std::move(columns)) {}

void Table::row(const std::vector<Markup>& cells) {
  assert(cells.size() == columns_.size());
  Markup row;
  for (std::size_t i = 0; i < cells.size(); ++i) {
    Attributes attributes;
    if (i == 0) attributes.emplace_back("scope", "row");
    if (columns_[i].figures) attributes.emplace_back("class", "n");
    if (columns_[i].name) attributes.emplace_back("class", "name");
    row += element(i == 0 ? "th" : "td", attributes, cells[i]);
  }
  body_ += element("tr", row);
  ++rows_;
}

Markup Table::markup() const {
  Markup head;
  for (const Column& column : columns_) {
    Attributes attributes{{"scope", "col"}};
    if (column.figures) attributes.emplace_back("class", "n");
    head += element("th", attributes, column.head);
  }
  Attributes attributes;
  constexpr std::size_t short_enough = 8;  // to stay whole on a printed page at little loss
  if (rows_ <= short_enough) attributes.emplace_back("class", "whole");
  return element("table", attributes,
                 element("caption", caption_) + element("thead", element("tr", head)) +
                     element("tbody", body_));
}

std::string css_string(std::string_view text) {
  std::string out = "\"";
  for (std::size_t i = 0; i < text.size(); ++i) {
    const auto byte = static_cast<unsigned char>(text[i]);
    if (byte >= 0x80) {
      // Letters of other scripts stay; what is not UTF-8 is replaced, as on the rest of the page.
      const std::size_t begin = i;
      while (i + 1 < text.size() && static_cast<unsigned char>(text[i + 1]) >= 0x80) ++i;
      out += charts::xml_escaped(text.substr(begin, i - begin + 1));
    } else if (std::isalnum(byte) || byte == ' ' || byte == ',' || byte == '.') {
      out += text[i];
    } else if (byte < 0x20 || byte == 0x7F) {
      out += ' ';
    } else {
      out += fmt::format("\\{:06x}", byte);
    }
  }
  return out + "\"";
}

}  // namespace stonecall::debrief
