#pragma once

#include <cstddef>
#include <string>

#include "console/desk/call_list.hpp"
#include "console/desk/call_writing.hpp"
#include "console/desk/layout.hpp"
#include "console/desk/region.hpp"

namespace stonecall::desk {

/// The call: what is advised and why, what is written, and the list of what was called and asked.
struct CallState {
  std::string adviser;  ///< who sits here: own chances come first to say what came of them
  CallWriting writing;
  bool why = false;        ///< the reasons are unfolded
  std::size_t reason = 0;  ///< the first of them that is shown
  std::string sent;        ///< sentence of the advised call sent last, until the picture has it
  CallListState list;
};

Commands draw_call(const View& view, CallState& state, Canvas& canvas);
std::span<const KeyLine> call_keys();

/// The heights at which the call with its curve, the buttons and the newest calls and questions
/// stand, these in a line each or in as many of two as they need, drawn as wide as this canvas; on
/// the way, where nothing is weighed, less; nothing before anything was worked out.
Wanted call_height(const View& view, const Canvas& canvas);

}  // namespace stonecall::desk
