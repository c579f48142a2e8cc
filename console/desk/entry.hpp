#pragma once

#include <functional>
#include <span>
#include <string>
#include <vector>

#include "console/desk/region.hpp"

namespace stonecall::desk {

/// Reads typed speech into proposed facts, for the preview beside the line.
using ReadSpeech = std::function<std::vector<Proposal>(std::string_view text, const View& view)>;

struct EntryState {
  std::string typed;  ///< never lost: only Enter, after a post was made of it, empties it
  std::vector<std::string> said;  ///< what was posted, for the arrows
  std::size_t recalled = 0;       ///< 0: the line being typed, n: the n-th from the end of `said`
  std::string kept;  ///< the unfinished line while another is recalled, edited or put right
  std::optional<std::string> replacement;  ///< to stand in the line instead of what is typed
  bool active = false;                     ///< has the keyboard
  bool accepts_sure = false;               ///< the setting is on, and said
  /// Set while a proposal is edited: what is typed is read anew and posted as its edited reading.
  std::optional<ask::EditReading> editing;
  /// Set while the words of a line are put right.
  std::optional<ask::AmendText> amending;
  std::string previewed;  ///< the text that `preview` was read from
  std::vector<Proposal> preview;
};

/// Puts other words into the line, to be edited; what was being typed comes back after them.
void take_into_line(EntryState& state, std::string words);
/// What was being typed and is not sent, also while other words stand in the line.
const std::string& draft(const EntryState& state);

Commands draw_entry(const View& view, EntryState& state, const ReadSpeech& read, Canvas& canvas);
std::span<const KeyLine> entry_keys();

}  // namespace stonecall::desk
