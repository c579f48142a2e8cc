#include "console/picture/senders.hpp"

#include <algorithm>
#include <map>

namespace stonecall::picture {

std::vector<Sender> senders(const Picture& picture) {
  struct Heard {
    std::size_t words = 0;
    Instant last = Instant::min();
    std::vector<Milliseconds> took;
    bool field = false;
  };
  std::map<std::string, Heard> heard;
  for (const auto& line : picture.heard) {
    // An amendment may have put the time right; the clock said what first came.
    const protocol::Event& event = line.first ? *line.first : *line.event;
    Heard& of = heard[event.from];
    ++of.words;
    of.field |= speaks_for_field(picture, event);
    of.last = std::max(of.last, event.at.instant);
    if (event.received) of.took.push_back(event.received->instant - event.at.instant);
  }

  constexpr std::size_t enough = 3;
  const Milliseconds delay(
      static_cast<std::int64_t>((picture.plan ? picture.plan->link.delay_seconds : 0) * 1000));
  std::vector<Sender> all;
  for (auto& [name, of] : heard) {
    Sender sender{name, of.field, of.words, of.last, {}, {}, {}};
    if (!of.took.empty()) {
      std::ranges::sort(of.took);
      sender.typical = of.took[of.took.size() / 2];
      sender.longest = of.took.back();
      if (of.took.size() >= enough) {
        const Milliseconds usual = of.took[of.took.size() / 4];
        // Somebody whom the plan does not name may sit beside the server and note what the field
        // says: the nearer of the two is taken.
        const bool behind_link = sender.field && (is_named(picture, name) || usual > delay - usual);
        sender.clock_ahead = (behind_link ? delay : Milliseconds{}) - usual;
      }
    }
    all.push_back(std::move(sender));
  }
  std::ranges::stable_sort(all, std::ranges::greater{}, &Sender::field);
  return all;
}

}  // namespace stonecall::picture
