#pragma once

#include <cstddef>
#include <string_view>

namespace stonecall::protocol {

/// The line, from 1, on which the value named by a member's path ("stations[2].allotted_minutes")
/// begins in a JSON text. Of a path that is not all there, that of the last part that is: an object
/// stands for the member that it lacks. Of a member given twice the last counts, as when it is
/// read. `json` must be valid JSON.
std::size_t line_in_json(std::string_view json, std::string_view path);

}  // namespace stonecall::protocol
