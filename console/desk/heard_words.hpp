#pragma once

#include <functional>
#include <map>
#include <string>
#include <utility>

#include "console/desk/clock_text.hpp"
#include "console/desk/view.hpp"

/// What the lines of Heard say.
namespace stonecall::desk {

/// The words of a line as it came; of a later plan what it changed. What a search looks in.
std::string plain_words(const picture::HeardLine& line);

/// Words that name other events of a picture: each is looked up once, and kept while the picture is
/// the same.
class LookedUp {
 public:
  /// The words kept for an event and what is told of it; `look_up` makes them where there are none.
  const std::string& find(const picture::PicturePtr& picture, const protocol::Uuid& event,
                          std::string what, const std::function<std::string()>& look_up);

 private:
  std::map<std::pair<protocol::Uuid, std::string>, std::string> words_;
  picture::PicturePtr picture_;
};

/// The words of a line as they are shown: moments by the clock, of an amendment what stood there
/// before, of a retraction what it took back, of an answer what it is to.
std::string shown_words(const View& view, const picture::HeardLine& line, const ClockText& clock,
                        LookedUp& looked_up);

/// A fact on a chip; a correction with what it corrects. `decided`: it was worked in, so what it
/// corrects stands as it came.
std::string chip_words(const View& view, const protocol::Fact& fact, bool decided,
                       const ClockText& clock, LookedUp& looked_up);

/// What stands behind the words of a line: that it was amended, and, where the link is not up, that
/// it has not reached the server yet.
std::string line_aside(const View& view, const picture::HeardLine& line);

}  // namespace stonecall::desk
