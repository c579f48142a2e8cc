#pragma once

#include <string_view>

namespace stonecall::reading {

/// Whether two words differ by at most `limit` (1 or 2) letters put in, left out, changed or
/// swapped with a neighbour (optimal string alignment distance). Words over 24 letters never do.
bool near(std::string_view a, std::string_view b, int limit);

}  // namespace stonecall::reading
