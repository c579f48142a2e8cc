#pragma once

#include <functional>
#include <optional>
#include <span>
#include <string>
#include <string_view>
#include <vector>

#include "console/desk/region.hpp"

namespace stonecall::desk {

/// Reads typed speech into proposed facts, for the preview beside the line.
using ReadSpeech = std::function<std::vector<Proposal>(std::string_view text, const View& view)>;

struct EntryState {
  std::string adviser;  ///< who sits here
  std::string typed;    ///< never lost: only Enter, after a post was made of it, empties it
  std::vector<std::string> said;  ///< what was posted, for the arrows
  std::size_t recalled = 0;       ///< 0: the line being typed, n: the n-th from the end of `said`
  std::string kept;  ///< the unfinished line while another is recalled, edited or put right
  std::optional<std::string> replacement;  ///< to stand in the line instead of what is typed
  bool active = false;                     ///< has the keyboard
  bool accepts_sure = false;               ///< the setting is on, and said
  /// Set while a proposal is edited: what is typed is read anew and posted as its edited reading.
  std::optional<ask::EditReading> editing;
  /// Set while the words of a line are put right, with the words that this is done to.
  std::optional<ask::AmendText> amending;
  /// What another desk did to that line meanwhile, told before Enter puts ours in its place.
  std::string meanwhile;
  std::string previewed;  ///< the text that `preview` was read from
  std::vector<Proposal> preview;
};

/// Puts other words into the line, to be edited; what was being typed comes back after them.
void take_into_line(EntryState& state, std::string words);
/// What was being typed and is not sent, also while other words stand in the line.
const std::string& draft(const EntryState& state);

/// Who speaks in a typed line, and the words. What is typed is what the field says: where a person
/// of the plan stands before a colon ("HERON: bag thirty one …") it is their word, the back room's
/// too; else, from a desk whose adviser the plan counts to the back room, that of the only person
/// in the field, or of "FIELD" where there are several, or where no plan has been heard yet. No
/// speaker: the sender's own word.
struct TypedSpeech {
  std::optional<std::string> speaker;
  std::string_view words;  ///< part of `typed`
  bool of_field = true;
};
TypedSpeech typed_speech(const View& view, const std::string& adviser, std::string_view typed);

Commands draw_entry(const View& view, EntryState& state, const ReadSpeech& read, Canvas& canvas);
std::span<const KeyLine> entry_keys();

}  // namespace stonecall::desk
