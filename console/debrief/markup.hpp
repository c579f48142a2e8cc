#pragma once

#include <string>
#include <string_view>
#include <utility>
#include <vector>

namespace stonecall::debrief {

/// HTML that is safe to put on a page. Text becomes Markup by being escaped, so what came from
/// outside can not turn into elements; only `verbatim` takes text as it is. "90 %" is given a space
/// at which no line is broken.
class Markup {
 public:
  Markup() = default;
  // Implicit, so that text can stand wherever markup can.
  Markup(std::string_view text);
  Markup(const std::string& text) : Markup(std::string_view(text)) {}
  Markup(const char* text) : Markup(std::string_view(text)) {}

  /// HTML of our own making, such as a chart's.
  static Markup verbatim(std::string html);

  Markup& operator+=(const Markup& more);
  friend Markup operator+(Markup left, const Markup& right) { return left += right; }

  bool empty() const { return html_.empty(); }
  const std::string& html() const { return html_; }

 private:
  std::string html_;
};

/// Names are ours, values are escaped.
using Attributes = std::vector<std::pair<std::string_view, std::string>>;

Markup element(std::string_view tag, const Markup& inside);
Markup element(std::string_view tag, const Attributes& attributes, const Markup& inside);

/// A table with a heading for each column and, in its first column, for each row.
class Table {
 public:
  struct Column {
    Markup head;
    bool figures = false;  ///< set to the right, digits below digits
    bool name = false;     ///< given room for a name on one line
  };

  Table(std::string caption, std::vector<Column> columns);

  /// As many cells as columns.
  void row(const std::vector<Markup>& cells);
  bool empty() const { return body_.empty(); }

  Markup markup() const;

 private:
  std::string caption_;
  std::vector<Column> columns_;
  Markup body_;
  std::size_t rows_ = 0;
};

/// The text as a string in a style sheet, quotes included; nothing in it can end the string, the
/// sheet or its element.
std::string css_string(std::string_view text);

}  // namespace stonecall::debrief
