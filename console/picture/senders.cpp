#include "console/picture/senders.hpp"

#include <algorithm>
#include <map>

namespace stonecall::picture {

std::vector<Sender> senders(const Picture& picture) {
  struct Heard {
    std::size_t words = 0;
    Instant last = Instant::min();
    std::vector<Milliseconds> took;
  };
  std::map<std::string, Heard> heard;
  for (const auto& line : picture.heard) {
    // An amendment may have put the time right; the clock said what first came.
    const protocol::Event& event = line.first ? *line.first : *line.event;
    Heard& of = heard[event.from];
    ++of.words;
    of.last = std::max(of.last, event.at.instant);
    if (event.received) of.took.push_back(event.received->instant - event.at.instant);
  }

  constexpr std::size_t enough = 3;
  const Milliseconds delay(
      static_cast<std::int64_t>((picture.plan ? picture.plan->link.delay_seconds : 0) * 1000));
  std::vector<Sender> all;
  for (auto& [name, of] : heard) {
    Sender sender{name, is_field(picture, name), of.words, of.last, {}, {}, {}};
    if (!of.took.empty()) {
      std::ranges::sort(of.took);
      sender.typical = of.took[of.took.size() / 2];
      sender.longest = of.took.back();
      if (of.took.size() >= enough)
        sender.clock_ahead = (sender.field ? delay : Milliseconds{}) - of.took[of.took.size() / 4];
    }
    all.push_back(std::move(sender));
  }
  std::ranges::stable_sort(all, std::ranges::greater{}, &Sender::field);
  return all;
}

}  // namespace stonecall::picture
