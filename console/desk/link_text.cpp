#include "console/desk/link_text.hpp"

#include <algorithm>
#include <chrono>

#include <fmt/format.h>

#include "console/desk/fact_text.hpp"
#include "protocol/utf8.hpp"

namespace stonecall::desk {
namespace {

using namespace std::chrono_literals;
using protocol::Milliseconds;

/// Below this nobody reads a clock that closely.
constexpr Milliseconds agrees_within = 3s;

/// No clock goes wrong by so much; this one tells the time of a log.
constexpr Milliseconds another_day = 24h;

}  // namespace

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
  constexpr std::size_t most_quoted = 60;  // bytes: the reason is to be seen
  const std::string said = link.refused->event ? line_text(*link.refused->event) : "a post";
  const std::string_view what = protocol::utf8::beginning(said, most_quoted);
  return fmt::format("The server did not take “{}{}”: {}", what,
                     what.size() < said.size() ? "…" : "", link.refused->why);
}

std::string link_text(const View& view, const ClockText& clock) {
  const LinkState& link = view.link;
  const std::string since = link.since ? " since " + clock.seconds(*link.since) : "";
  std::string text;
  switch (link.kind) {
    case LinkState::Kind::none:
      text = view.mode == Mode::replay ? "No link: a recorded log." : "No link.";
      break;
    case LinkState::Kind::connecting:
      text = "Connecting to " + view.source + since + ".";
      break;
    case LinkState::Kind::connected:
      text = "Connected to " + view.source + since + ".";
      break;
    case LinkState::Kind::lost:
      text = "Lost" + since + ": " + link.words + ". It is tried again by itself.";
      break;
    case LinkState::Kind::refused:
      text = "Refused" + since + ": " + link.words + ".";
      break;
  }
  if (link.waiting > 0)
    text += fmt::format(" {} of ours {} to go out.", link.waiting,
                        link.waiting == 1 ? "waits" : "wait");
  if (link.clock_offset) {
    const auto off = std::chrono::abs(*link.clock_offset);
    text += off < agrees_within ? " This machine's clock agrees with the server's."
            : off > another_day
                ? " The server's clock is that of another day, as when it plays a log."
                : fmt::format(" This machine's clock is {} {} the server's.", short_span(off),
                              *link.clock_offset < 0ms ? "ahead of" : "behind");
  }
  return text;
}

std::string elsewhere_text(const KeptElsewhere& kept) {
  const auto& [server, exercise] = kept.meant_for;
  std::string where = server.empty() ? "a server that is not known" : server;
  if (!exercise.empty()) where += " (" + exercise + ")";
  return fmt::format("{} meant for {} {} in {}; a desk there sends {}.",
                     kept.posts == 1 ? "A post" : fmt::format("{} posts", kept.posts), where,
                     kept.posts == 1 ? "waits" : "wait", kept.file.string(),
                     kept.posts == 1 ? "it" : "them");
}

std::string unclaimed_text(const LinkState& link) {
  if (link.unclaimed == 0) return {};
  const bool one = link.unclaimed == 1;
  return fmt::format(
      "{} typed before it was known which exercise this is, and not in its hours: {} here. "
      "G sends {} to this exercise.",
      one ? "A post was" : fmt::format("{} posts were", link.unclaimed),
      one ? "it waits" : "they wait", one ? "it" : "them");
}

std::string outages_text(const std::vector<picture::Outage>& outages, const ClockText& clock) {
  if (outages.empty()) return "No outage so far.";
  constexpr std::size_t most = 4;
  std::string text = outages.size() > most ? fmt::format("{} outages, the last: ", outages.size())
                                           : (outages.size() == 1 ? "One outage: " : "Outages: ");
  for (std::size_t i = outages.size() - std::min(most, outages.size()); i < outages.size(); ++i)
    text += fmt::format("{}{} to {}", text.ends_with(": ") ? "" : ", ",
                        clock.minutes(outages[i].from), clock.minutes(outages[i].until));
  return text + ".";
}

std::string short_span(Milliseconds span) {
  if (span < 90s) return fmt::format("{:.0f} s", static_cast<double>(span.count()) / 1000);
  return age_text(span);
}

std::string sender_clock_text(const picture::Sender& sender) {
  if (!sender.clock_ahead) return "–";
  const auto off = std::chrono::abs(*sender.clock_ahead);
  if (off < agrees_within) return "agrees";
  return (*sender.clock_ahead > 0ms ? "ahead " : "behind ") + short_span(off);
}

}  // namespace stonecall::desk
