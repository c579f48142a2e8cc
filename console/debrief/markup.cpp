#include "console/debrief/markup.hpp"

#include <cassert>
#include <cctype>

#include <fmt/format.h>

#include "console/charts/svg.hpp"

namespace stonecall::debrief {

Markup::Markup(std::string_view text) : html_(charts::xml_escaped(text)) {}

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

Table::Table(std::string caption, std::vector<Column> columns, std::string classes)
    : caption_(std::move(caption)), columns_(std::move(columns)), classes_(std::move(classes)) {}

void Table::row(const std::vector<Markup>& cells) {
  assert(cells.size() == columns_.size());
  Markup row;
  for (std::size_t i = 0; i < cells.size(); ++i) {
    Attributes attributes;
    if (i == 0) attributes.emplace_back("scope", "row");
    if (columns_[i].figures) attributes.emplace_back("class", "n");
    row += element(i == 0 ? "th" : "td", attributes, cells[i]);
  }
  body_ += element("tr", row);
}

Markup Table::markup() const {
  Markup head;
  for (const Column& column : columns_) {
    Attributes attributes{{"scope", "col"}};
    if (column.figures) attributes.emplace_back("class", "n");
    head += element("th", attributes, column.head);
  }
  Attributes attributes;
  if (!classes_.empty()) attributes.emplace_back("class", classes_);
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
