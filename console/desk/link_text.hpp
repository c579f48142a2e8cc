#pragma once

#include <string>
#include <vector>

#include "console/desk/clock_text.hpp"
#include "console/desk/view.hpp"
#include "console/picture/senders.hpp"

/// How the way to the server is, in words.
namespace stonecall::desk {

/// Nothing comes in and nothing goes out.
bool is_down(const LinkState& link);

/// "link lost since 1:12:40, 2 wait to go out"; empty while all is well.
std::string link_words(const View& view, const ClockText& clock, bool brief = false);

/// "The server did not take “bag thirty one”: its clock is …"; empty where nothing was refused.
std::string refused_words(const LinkState& link);

// In sentences.

/// "connected to 127.0.0.1:7700 since 0:12:30", "no link: a recorded log", "lost since …: why; 2
/// events wait to go out".
std::string link_text(const View& view, const ClockText& clock);
/// "2 posts meant for ridge:7700 (Varrow Rim, 2027-…) wait in FILE; a desk there sends them."
std::string elsewhere_text(const KeptElsewhere& kept);
/// "2 posts were typed before it was known which exercise this is, and not in its hours: …"; empty
/// where there is none.
std::string unclaimed_text(const LinkState& link);
/// "No outage so far.", "Outages: 0:12 to 0:15, 1:02 to 1:03."
std::string outages_text(const std::vector<picture::Outage>& outages, const ClockText& clock);
/// "45 s", "2:00" above a minute and a half.
std::string short_span(protocol::Milliseconds span);
/// "agrees", "ahead 45 s", "behind 2:00"; "–" where nobody can say.
std::string sender_clock_text(const picture::Sender& sender);

}  // namespace stonecall::desk
