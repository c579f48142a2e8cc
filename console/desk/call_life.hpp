#pragma once

#include <string>

#include "console/desk/view.hpp"

namespace stonecall::desk {

/// Where a call or a question stands: "on its way", "not heard 3:20", "heard 0:40 ago", "acting",
/// "declined"; "open 2:10", "answered"; of a stated chance what came of it.
struct CallLife {
  std::string words;
  bool wants_eyes = false;
};
CallLife life_of(const picture::CallMade& call, const View& view);
CallLife life_of(const picture::QuestionAsked& question, const View& view);

}  // namespace stonecall::desk
