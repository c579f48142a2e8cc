#pragma once

#include <string>

#include "console/desk/clock_text.hpp"
#include "console/desk/view.hpp"

/// How the way to the server is, in words.
namespace stonecall::desk {

/// Nothing comes in and nothing goes out.
bool is_down(const LinkState& link);

/// "link lost since 1:12:40, 2 wait to go out"; empty while all is well.
std::string link_words(const View& view, const ClockText& clock, bool brief = false);

/// "The server did not take “bag thirty one”: its clock is …"; empty where nothing was refused.
std::string refused_words(const LinkState& link);

}  // namespace stonecall::desk
