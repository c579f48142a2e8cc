#pragma once

#include <string>
#include <string_view>

#include "console/charts/chart.hpp"
#include "console/charts/palette.hpp"

namespace stonecall::charts {

struct SvgOptions {
  std::string_view id = "chart";  ///< prefix of ids, unique in the page: letters, digits, '-'
  bool in_words = false;    ///< the text around it says all of it: readers pass it over, no id
  bool standalone = false;  ///< with XML declaration and paper, as a file of its own
};

/// SVG 1.1 text of a chart. The same chart gives the same bytes. All text is escaped, and what no
/// XML text may hold (control characters, broken UTF-8) is replaced; numbers that are not finite
/// leave their item out. Readable without seeing: role="img" with title and description.
std::string svg(const Chart& chart, const Palette& palette = print_palette(),
                const SvgOptions& options = {});

/// Text as XML text or attribute value.
std::string xml_escaped(std::string_view text);

}  // namespace stonecall::charts
