#pragma once

#include <cstddef>
#include <optional>
#include <string>
#include <vector>

#include "console/desk/layout.hpp"
#include "console/desk/region.hpp"

namespace stonecall::desk {

struct CallState {
  enum class Writing { none, call, chance, answer };
  Writing writing = Writing::none;
  std::string adviser;  ///< who sits here: own chances come first to say what came of them
  std::string typed;
  std::size_t says = 4;        ///< which of protocol::Says the written call is
  bool take_keyboard = false;  ///< put the cursor into the line
  bool typing = false;         ///< it has the keyboard
  /// Takes the place of what is written.
  std::optional<std::string> replacement;
  std::optional<protocol::Uuid> answering;  ///< the question that an answer is written to
  std::size_t outcome = 0;                  ///< the ready outcome that is offered next
  bool why = false;                         ///< the reasons are unfolded
  std::size_t reason = 0;                   ///< the first of them that is shown
  std::string sent;       ///< sentence of the advised call sent last, until the picture has it
  std::size_t row = 0;    ///< first line of the list that is shown
  std::size_t lines = 0;  ///< of the list
  float room = 0;         ///< for them, screen pixels
  std::optional<protocol::Uuid> bring;  ///< line of the list to be brought into sight
};

Commands draw_call(const View& view, CallState& state, Canvas& canvas);
std::span<const KeyLine> call_keys();

/// The heights at which the call with its curve, the buttons and the newest calls and questions
/// stand, these in a line each or in as many of two as they need, drawn as wide as this canvas; on
/// the way, where nothing is weighed, less; nothing before anything was worked out.
Wanted call_height(const View& view, const Canvas& canvas);

/// "20 % another new kind within ten minutes" as chance and outcome; none where it does not begin
/// with a percentage of 0–100, or names no outcome.
struct StatedChance {
  double chance = 0;  ///< 0–1
  std::string outcome;
};
std::optional<StatedChance> stated_chance(std::string_view typed);

/// Where a call stands: "on its way", "not heard 3:20", "heard 0:40 ago", "acting", "declined".
struct CallLife {
  std::string words;
  bool wants_eyes = false;
};
CallLife life_of(const picture::CallMade& call, const View& view);

/// The event that sends the advised call; none where there is nothing to send, or where the advice
/// is no longer current.
std::optional<protocol::Call> advised_call(const View& view);

}  // namespace stonecall::desk
