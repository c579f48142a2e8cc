#pragma once

#include <cstddef>
#include <optional>
#include <string>

#include "console/desk/canvas.hpp"

/// The line in which a call, a chance or an answer is written.
namespace stonecall::desk {

struct CallWriting {
  enum class What { nothing, call, chance, answer };
  What what = What::nothing;
  std::string typed;
  std::size_t says = 4;        ///< which of protocol::Says the written call is
  bool take_keyboard = false;  ///< put the cursor into the line
  bool typing = false;         ///< it has the keyboard
  /// Takes the place of what is written.
  std::optional<std::string> replacement;
  std::optional<protocol::Uuid> answering;  ///< the question that an answer is written to
  std::size_t outcome = 0;                  ///< the ready outcome that is offered next

  bool begun() const { return what != What::nothing; }
};

void start_writing(CallWriting& writing, CallWriting::What what);
void stop_writing(CallWriting& writing);
/// The written call is of the next kind.
void next_kind_of_call(CallWriting& writing);

/// The room it wants, screen pixels, with the question that is being answered.
float writing_height(const View& view, const CallWriting& writing, const Canvas& canvas);

/// The line with what belongs to it; what is finished is posted. Returns the height it takes.
float draw_writing(const View& view, CallWriting& writing, Canvas& canvas, float top,
                   Commands& out);

/// "20 % another new kind within ten minutes" as chance and outcome; none where it does not begin
/// with a percentage of 0–100, or names no outcome.
struct StatedChance {
  double chance = 0;  ///< 0–1
  std::string outcome;
};
std::optional<StatedChance> stated_chance(std::string_view typed);

}  // namespace stonecall::desk
