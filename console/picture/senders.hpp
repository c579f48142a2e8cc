#pragma once

#include <optional>
#include <string>
#include <vector>

#include "console/picture/picture.hpp"

namespace stonecall::picture {

/// What is known of one sender's way to us.
struct Sender {
  std::string name;
  bool field = false;
  std::size_t words = 0;  ///< events of its own, alterations included
  Instant last{};         ///< when the latest of them happened, by the sender's clock
  // From when an event happened, by the sender's clock, to when the server had it; none where the
  // server noted no receipt.
  std::optional<Milliseconds> typical;  ///< median
  std::optional<Milliseconds> longest;
  /// The sender's clock less the server's, reckoned from the first quartile of its delays, which
  /// should be the link's (or nothing, for a scribe at a desk): words that were held up lie above
  /// it. Right to the scatter of the link; none for fewer than three words.
  std::optional<Milliseconds> clock_ahead;
};

/// Everyone who sent anything, the field first, then by name.
std::vector<Sender> senders(const Picture& picture);

}  // namespace stonecall::picture
