#pragma once

#include <string>

#include "console/debrief/markup.hpp"

namespace stonecall::debrief {

/// A section of a page, named by its heading.
Markup page_section(const std::string& id, const std::string& title, const Markup& inside);

struct PageHeads {
  std::string title;  ///< of the window and the file
  std::string what;   ///< running head on the right: "Debrief"
  std::string name;   ///< running head on the left: of what
};

/// A whole HTML page in the look of the report, with running heads and feet when printed.
std::string html_page(const PageHeads& heads, const Markup& body);

}  // namespace stonecall::debrief
