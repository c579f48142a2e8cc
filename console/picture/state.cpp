#include "console/picture/state.hpp"

#include <algorithm>
#include <functional>
#include <limits>

namespace stonecall::picture {

std::string plain_number(const std::string& text) {
  const auto first = text.find_first_not_of('0');
  if (first == std::string::npos || text.find_first_not_of("0123456789") != std::string::npos)
    return text;
  return text.substr(first);
}

namespace {

using protocol::Event;

/// The last that fits; most is said of what came last.
template <class T, class Fits>
std::optional<std::size_t> find_last(const SharedList<T>& list, Fits&& fits) {
  for (std::size_t i = list.size(); i-- > 0;)
    if (fits(list[i])) return i;
  return std::nullopt;
}

template <class T>
std::optional<std::size_t> find_by_id(const SharedList<T>& list, const Uuid& id) {
  return find_last(list, [&](const T& each) { return each.origin.id == id; });
}

std::string left_without_arrival(const std::optional<std::string>& station,
                                 const Visit* at = nullptr) {
  return "left " + station.value_or("a station") +
         (at ? ", but the party was at " + at->station : ", but no arrival there was heard");
}

class Applier {
 public:
  Applier(State& state, const Event& event, const Origin& origin)
      : state_(state), event_(event), origin_(origin) {}

  void operator()(const protocol::PlanGiven& given) { state_.plan = given.plan; }
  void operator()(const protocol::VoiceNote&) {}

  void operator()(const protocol::Arrival& arrival) {
    if (const Visit* open = open_visit()) {
      if (open->station == arrival.station) return;
      // Nobody said that they left; they can not be at two places.
      leave();
    }
    state_.visits.push_back({arrival.station, origin_.at, std::nullopt});
  }

  void operator()(const protocol::Departure& departure) {
    const Visit* open = open_visit();
    if (open && (!departure.station || *departure.station == open->station)) {
      leave();
      return;
    }
    const bool said_again =
        !open && !state_.visits.empty() &&
        (!departure.station || *departure.station == state_.visits.back().station);
    if (said_again) return;
    if (state_.visits.empty()) {
      if (departure.station) state_.left_at_first.push_back({*departure.station, origin_.id});
      return;
    }
    flag(Flag::What::departure_elsewhere, left_without_arrival(departure.station, open));
  }

  void operator()(const protocol::SampleTaken& said) {
    const std::size_t index = sample_for(said);
    Sample& sample = state_.samples.change(index);
    sample.taken = true;
    sample.statements.push_back(origin_);
    state_.last_sample = index;
    if (said.number) put(sample, "number", sample.number, plain_number(*said.number));
    if (said.bag) put(sample, "bag", sample.bag, plain_number(*said.bag));
    if (said.number || said.bag)
      state_.labels.change(index) = {label_of(sample.number), label_of(sample.bag)};
    if (said.rock) {
      put(sample, "rock", sample.rock, *said.rock);
      mention(*said.rock);
    }
    if (said.station) {
      put(sample, "station", sample.station, *said.station);
    } else if (sample.station.empty()) {
      sample.station = here();
    }
    if (said.place) sample.place = said.place;
    if (said.tie) sample.tie = said.tie;
    if (said.size_mm) put(sample, "size", sample.size_mm, *said.size_mm);
    if (said.buried) put(sample, "buried", sample.buried, *said.buried);
    if (said.like_it) put(sample, "like_it", sample.like_it, *said.like_it);
    if (said.unselective) sample.unselective = *said.unselective;
    add(sample.picked, said.picked);
    add(sample.relation, said.relation);
    add(sample.description, said.description);
    add(sample.shape, said.shape);
    add(sample.colour, said.colour);
    add(sample.texture, said.texture);
  }

  void operator()(const protocol::Photo& photo) {
    std::optional<std::size_t> index = state_.last_sample;
    if (photo.sample) {
      // The pictures before the rock is lifted often come before any other word of the sample.
      index = find_number(plain_number(*photo.sample));
      if (!index) index = new_sample(plain_number(*photo.sample));
    }
    if (!index)
      return flag(Flag::What::photo_without_sample, "a photograph, but no sample was named yet");
    state_.samples.change(*index).photos.push_back({origin_, photo.view, photo.direction_degrees});
  }

  void operator()(const protocol::Sighting& seen) {
    mention(seen.rock);
    state_.sightings.push_back({origin_, seen.station.value_or(here()), seen.rock, seen.present});
  }

  void operator()(const protocol::Tally& tally) {
    for (const auto& count : tally.counts) {
      if (count.count > 0) mention(count.rock);
    }
    state_.looks.push_back({origin_, tally.station.value_or(here()), tally.counts, tally.total});
  }

  void operator()(const protocol::Share& share) {
    mention(share.rock);
    const double low = share.percent.low / 100;
    const double high = share.percent.high / 100;
    state_.shares.push_back({origin_, share.caller.value_or(origin_.from),
                             share.station.value_or(here()), share.rock, low, high,
                             share.best_percent ? *share.best_percent / 100 : (low + high) / 2});
  }

  void operator()(const protocol::Reading& reading) {
    if (reading.outcome == protocol::Outcome::declined || is_said_twice(reading)) return;
    std::visit(*this, reading.fact);
  }

  void operator()(const protocol::Call& call) {
    std::optional<Instant> received;
    if (event_.received) received = event_.received->instant;
    state_.calls.push_back({origin_, call, received, {}});
  }

  void operator()(const protocol::CallAnswer& answer) {
    const auto call = find_by_id(state_.calls, answer.call);
    if (!call) return missing_target("answers a call");
    state_.calls.change(*call).replies.push_back(
        {origin_, answer.answer, answer.text.value_or("")});
  }

  void operator()(const protocol::Question& question) {
    state_.questions.push_back({origin_, question, {}});
  }

  void operator()(const protocol::Answer& answer) {
    const auto question = find_by_id(state_.questions, answer.question);
    if (!question) return missing_target("answers a question");
    state_.questions.change(*question).answers.emplace_back(origin_, answer.text);
  }

  void operator()(const protocol::Remark& remark) { state_.remarks.push_back({origin_, remark}); }
  void operator()(const protocol::Amend&) {}    // worked into its target before the fold
  void operator()(const protocol::Retract&) {}  // likewise
  void operator()(const protocol::Damaged&) {
    flag(Flag::What::lost, "something that was said here is lost: the server's disk is damaged");
  }
  void operator()(const protocol::NotUnderstood&) { ++state_.not_understood; }

 private:
  const Visit* open_visit() const {
    return !state_.visits.empty() && !state_.visits.back().left ? &state_.visits.back() : nullptr;
  }
  void leave() { state_.visits.change(state_.visits.size() - 1).left = origin_.at; }

  std::string here() {
    const Visit* open = open_visit();
    return open ? open->station : std::string{};
  }

  static std::uint32_t label_of(const std::string& text) {
    return static_cast<std::uint32_t>(std::hash<std::string>{}(text));
  }

  /// The last sample whose label is that of `text` and that fits.
  template <class Fits>
  std::optional<std::size_t> find_labelled(std::uint32_t State::Labels::*label,
                                           const std::string& text, Fits&& fits) const {
    const std::uint32_t wanted = label_of(text);
    for (std::size_t i = state_.labels.size(); i-- > 0;)
      if (state_.labels[i].*label == wanted && fits(state_.samples[i])) return i;
    return std::nullopt;
  }

  std::optional<std::size_t> find_number(const std::string& number) const {
    return find_labelled(&State::Labels::number, number,
                         [&](const Sample& each) { return each.number == number; });
  }

  std::size_t new_sample(std::string number) {
    Sample sample;
    sample.number = std::move(number);
    sample.first = origin_.at;
    state_.labels.push_back({label_of(sample.number), label_of(sample.bag)});
    state_.samples.push_back(std::move(sample));
    return state_.samples.size() - 1;
  }

  std::size_t sample_for(const protocol::SampleTaken& said) {
    if (said.number) {
      if (const auto found = find_number(plain_number(*said.number))) return *found;
    }
    if (said.bag) {
      const std::string bag = plain_number(*said.bag);
      const auto found = find_labelled(&State::Labels::bag, bag, [&](const Sample& each) {
        return each.bag == bag && (!said.number || each.number.empty());
      });
      if (found) return *found;
    }
    return new_sample(said.number ? plain_number(*said.number) : "");
  }

  static std::string shown(const std::string& text) { return text; }
  static std::string plain(double value) {
    std::string text = protocol::Json(value).dump();
    if (text.ends_with(".0")) text.resize(text.size() - 2);
    return text;
  }
  /// The one number that a sample is told of without its unit is its size.
  static std::string shown(double millimetres) { return plain(millimetres) + " mm"; }
  static std::string shown(const protocol::PercentRange& range) {
    return plain(range.low) + (range.low == range.high ? "" : "–" + plain(range.high)) + " %";
  }

  void contradict(Sample& sample, const char* member, std::string before, std::string after) {
    flag(Flag::What::contradiction, "sample " +
                                        (sample.number.empty() ? "without number" : sample.number) +
                                        ": " + member + " was " + before + ", now " + after);
    sample.contradictions.push_back({member, std::move(before), std::move(after), origin_});
  }

  void put(Sample& sample, const char* member, std::string& held, const std::string& said) {
    if (!held.empty() && held != said) contradict(sample, member, held, said);
    held = said;
  }

  template <class T>
  void put(Sample& sample, const char* member, std::optional<T>& held, const T& said) {
    if (held && *held != said) contradict(sample, member, shown(*held), shown(said));
    held = said;
  }

  /// Descriptions add up; one said again is not repeated.
  static void add(std::string& held, const std::optional<std::string>& said) {
    if (!said || said->empty() || held.find(*said) != std::string::npos) return;
    held += held.empty() ? *said : "; " + *said;
  }

  /// Two desks may accept the same words of a note before they hear of each other: they were said
  /// once.
  bool is_said_twice(const protocol::Reading& reading) const {
    if (!reading.words) return false;
    for (std::size_t i = state_.heard.size(); i-- > 0;) {
      const HeardLine& line = state_.heard[i];
      if (line.event->at.instant != origin_.at) return false;
      if (line.event->id != reading.note) continue;
      return std::ranges::any_of(line.readings, [&](const ReadingMade& before) {
        return before.id != event_.id && !before.retracted &&
               before.reading.outcome != protocol::Outcome::declined &&
               before.reading.words == reading.words && before.reading.fact == reading.fact;
      });
    }
    return false;
  }

  void mention(const std::string& rock) {
    if (std::ranges::find(state_.mentioned, rock) == state_.mentioned.end())
      state_.mentioned.push_back(rock);
  }

  void flag(Flag::What what, std::string text) {
    state_.flags.push_back({what, std::move(text), origin_.id});
  }
  void missing_target(const char* does) {
    flag(Flag::What::no_such_target, std::string(does) + " that has not been heard");
  }

  State& state_;
  const Event& event_;
  const Origin& origin_;
};

}  // namespace

void hear(State& state, const EventPtr& event, const Origin& origin, const Past& past) {
  if (const auto* reading = std::get_if<protocol::Reading>(&event->body)) {
    // A reading counts from its note's time, so the note is among the last lines of that time.
    for (std::size_t i = state.heard.size(); i-- > 0;) {
      const Event& before = *state.heard[i].event;
      if (before.at.instant != origin.at) break;
      if (before.id != reading->note) continue;
      auto& readings = state.heard.change(i).readings.change();
      const auto begin = [](const ReadingMade& each) {
        return each.reading.words ? each.reading.words->begin
                                  : std::numeric_limits<std::uint32_t>::max();
      };
      readings.reserve(readings.size() + 1);  // a note is read once: room for more stays empty
      ReadingMade made{event->id, *reading, event->from, past.retracted, past.first};
      const auto place = std::ranges::upper_bound(readings, begin(made), {}, begin);
      readings.insert(place, std::move(made));
      return;
    }
  }
  EventPtr replaced;
  if (std::holds_alternative<protocol::PlanGiven>(event->body)) {
    replaced = state.plan_event;
    if (!past.retracted) state.plan_event = event;
  }
  state.heard.push_back(
      {event, past.first != nullptr, past.retracted, {}, past.first, std::move(replaced)});
}

void apply(State& state, const Event& event, const Origin& origin) {
  std::visit(Applier(state, event, origin), event.body);
}

Picture finished(const State& state) {
  Picture picture{state, {}, 0};

  if (state.plan) {
    for (const auto& kind : state.plan->vocabulary) picture.kinds.push_back(kind.rock);
  }
  for (const auto& rock : state.mentioned) {
    if (std::ranges::find(picture.kinds, rock) != picture.kinds.end()) continue;
    picture.kinds.push_back(rock);
    if (state.plan) {
      picture.flags.push_back(
          {Flag::What::outside_vocabulary, "\"" + rock + "\" is not in the plan's vocabulary", {}});
    }
  }
  // Nobody calls an arrival at the base they start from; where no plan names it, it is the first
  // place they left.
  for (const auto& left : state.left_at_first) {
    const std::string& base =
        state.plan ? state.plan->base.station : state.left_at_first.front().station;
    if (left.station != base)
      picture.flags.push_back(
          {Flag::What::departure_elsewhere, left_without_arrival(left.station), left.event});
  }
  if (state.plan) {
    for (const auto& visit : picture.visits) {
      if (visit.station != state.plan->base.station &&
          std::ranges::find(state.plan->stations, visit.station,
                            &protocol::PlannedStation::station) == state.plan->stations.end()) {
        picture.flags.push_back({Flag::What::unplanned_station,
                                 "\"" + visit.station + "\" is not a station of the plan",
                                 {}});
      }
    }
  }

  std::map<std::string, const Sample*> bags;
  for (const auto& sample : picture.samples) {
    if (sample.bag.empty()) continue;
    const auto [first, fresh] = bags.emplace(sample.bag, &sample);
    if (fresh) continue;
    const auto name = [](const Sample& each) {
      return each.number.empty() ? "without number" : each.number;
    };
    picture.flags.push_back({Flag::What::same_bag,
                             "bag " + sample.bag + " is given to sample " + name(*first->second) +
                                 " and to sample " + name(sample),
                             sample.statements.empty() ? Uuid{} : sample.statements.back().id});
  }
  return picture;
}

}  // namespace stonecall::picture
