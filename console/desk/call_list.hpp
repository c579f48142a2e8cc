#pragma once

#include <cstddef>
#include <limits>
#include <optional>
#include <string>
#include <vector>

#include "console/desk/call_life.hpp"
#include "console/desk/canvas.hpp"

/// The list of calls, stated chances and questions, newest first, each with where it stands.
namespace stonecall::desk {

struct CallLine {
  enum class Kind { call, chance, question };
  protocol::Instant at{};
  protocol::Uuid id{};
  std::string text;
  CallLife life;
  Kind kind{};
};

/// At least the newest so many of them.
std::vector<CallLine> call_lines(const View& view, const ClockText& clock,
                                 std::size_t least = std::numeric_limits<std::size_t>::max());

struct CallListState {
  std::size_t row = 0;                  ///< first line that is shown
  std::size_t lines = 0;                ///< of the list, when it was drawn last
  float room = 0;                       ///< for them, screen pixels
  std::optional<protocol::Uuid> bring;  ///< line to be brought into sight
};

inline constexpr std::size_t lines_at_ease = 3;  ///< calls and questions that are to be in sight
inline constexpr std::size_t least_lines = 2;    ///< beside a curve that can be read

// Heights in design pixels.
inline constexpr float call_line = 22;
inline constexpr float further_call_line = 18;  ///< of a text that does not fit into one
inline constexpr float call_list_foot = 16;     ///< how many there are besides, what the keys do

/// Screen pixels that the newest so many of all `lines` take in a line of type each, with the foot
/// where that says how many there are besides.
float newest_height(std::size_t newest, std::size_t lines, const Canvas& canvas);
/// Screen pixels at which the newest lines say all that two lines of type hold.
float height_at_ease(const std::vector<CallLine>& lines, const Canvas& canvas);

/// Is one of them chosen?
bool chosen_among(const std::vector<CallLine>& lines, const Canvas& canvas);

/// As many of them as `box` has room for; the arrows choose one. `keys_act`: keys act on the chosen
/// line, which is told below the list; false while they are letters.
void draw_call_list(const View& view, const std::vector<CallLine>& lines, bool keys_act,
                    CallListState& state, Canvas& canvas, Rect box, Commands& out);

}  // namespace stonecall::desk
