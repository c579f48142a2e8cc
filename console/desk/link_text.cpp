#include "console/desk/link_text.hpp"

#include <fmt/format.h>

#include "console/desk/fact_text.hpp"

namespace stonecall::desk {

bool is_down(const LinkState& link) {
  return link.kind == LinkState::Kind::lost || link.kind == LinkState::Kind::refused;
}

std::string link_words(const View& view, const ClockText& clock, bool brief) {
  const LinkState& link = view.link;
  std::string words;
  if (link.kind == LinkState::Kind::connecting) words = "connecting";
  if (link.kind == LinkState::Kind::refused) words = "refused: " + link.words;
  if (link.kind == LinkState::Kind::lost) {
    words = "link lost";
    if (link.since)
      words += " since " + (brief ? clock.minutes(*link.since) : clock.seconds(*link.since));
  }
  if (link.waiting > 0)
    words += fmt::format("{}{} {}{}", words.empty() ? "" : ", ", link.waiting,
                         link.waiting == 1 ? "waits" : "wait", brief ? "" : " to go out");
  return words;
}

std::string refused_words(const LinkState& link) {
  if (!link.refused) return {};
  const std::string what = link.refused->event ? line_text(*link.refused->event) : "a post";
  return "The server did not take “" + what + "”: " + link.refused->why;
}

}  // namespace stonecall::desk
