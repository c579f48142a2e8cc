#pragma once

#include <memory>
#include <string_view>
#include <vector>

#include "console/picture/picture.hpp"
#include "console/reading/proposed.hpp"

namespace stonecall::commands {

/// Reads notes with the vocabulary of whatever plan is in force. Preparing a vocabulary costs far
/// more than reading a note, so it is kept until the plan changes. May be used from several
/// threads.
class Speech {
 public:
  Speech();
  ~Speech();

  /// What the note would state at `now`; nothing while there is no plan.
  std::vector<reading::Proposed> read(std::string_view text, const picture::Picture& picture,
                                      picture::Instant now) const;
  /// For many notes of one picture: what was known at its moments is worked out once, for as long
  /// as it is asked about the same one.
  std::vector<reading::Proposed> read(std::string_view text, const picture::PicturePtr& picture,
                                      picture::Instant now) const;

 private:
  struct Kept;
  std::unique_ptr<Kept> kept_;
};

}  // namespace stonecall::commands
