#include "console/debrief/made_up_exercise.hpp"

#include <algorithm>
#include <array>
#include <cassert>
#include <cmath>
#include <string_view>
#include <utility>

#include <boost/uuid/random_generator.hpp>
#include <fmt/format.h>

#include "console/advise/way_back.hpp"

namespace stonecall::debrief {
namespace {

using protocol::Body;
using protocol::Event;
using protocol::Milliseconds;

constexpr double slice_minutes = 0.25;
constexpr double outage_minutes = 4;
constexpr double evenness = 12;  // of a station's true shares around what they are drawn from
constexpr double least_stay = 2;
constexpr int first_bag = 101;

constexpr std::array pickings = {"the freshest face we could find", "banding that the others lack",
                                 "a colour that stands out", "being like most of what is here",
                                 "a clean break right through it"};
constexpr std::array relations = {"perched on a slab, alone", "one of a dozen alike, touching",
                                  "at the foot of the step, under finer stuff",
                                  "wedged between two larger ones", "loose on top of the gravel"};
constexpr std::array burials = {std::pair{"lying free", 0.0}, std::pair{"a tenth buried", 10.0},
                                std::pair{"a quarter buried", 25.0},
                                std::pair{"half buried", 50.0}};
constexpr std::array chatter = {"Footing is good along here.", "Wind is getting up a bit.",
                                "Hold on, strap of my pack.", "Lovely light on the far slope.",
                                "We are all fine, all warm."};
constexpr std::array excuses = {"Not yet, we are in the middle of something here.",
                                "Negative, the footing there does not look good to me.",
                                "We would rather finish what we began."};
constexpr std::array numbers = {"no",  "one",   "two",   "three", "four", "five",
                                "six", "seven", "eight", "nine",  "ten"};

std::string in_words(std::int64_t n) {
  return n >= 0 && n < std::ssize(numbers) ? numbers[static_cast<std::size_t>(n)]
                                           : fmt::format("{}", n);
}

protocol::PercentRange around(double percent, double half_width) {
  return {std::max(0.0, percent - half_width), std::min(100.0, percent + half_width)};
}

double to_five(double percent) {
  return std::round(percent / 5) * 5;
}

}  // namespace

Difficulty easy() {
  return {Difficulty::Talk::talkative, 0.02, 0.15, 1, 0.02, 0, {}, true};
}
Difficulty usual() {
  return {};
}
Difficulty hard() {
  return {Difficulty::Talk::terse, 0.25, 0.7, 0.75, 0.1, 2, 45.0, true};
}

std::optional<std::string> cannot_be_made_up(const protocol::Plan& plan) {
  if (plan.stations.empty()) return "the plan has no station";
  if (plan.vocabulary.size() < 2)
    return "the plan names fewer than two kinds of rock in its vocabulary";
  return std::nullopt;
}

MadeUpExercise::MadeUpExercise(protocol::Plan plan, Difficulty difficulty, std::uint64_t seed)
    : plan_(std::move(plan)), difficulty_(difficulty), generator_(seed) {
  assert(!cannot_be_made_up(plan_));
  for (const auto& kind : plan_.vocabulary) rocks_.push_back(kind.rock);
  Habits habits;
  habits.looks_per_minute = plan_.pace.looks_per_minute;
  habits.handling_minutes = plan_.pace.handling_minutes;
  habits.callers.clear();
  for (const auto& person : plan_.people) {
    if (person.role != protocol::Side::field) continue;
    people_.push_back(person.name);
    habits.callers.push_back({uniform(-0.08, 0.08), std::max(0.02, person.spread_percent / 100)});
  }
  if (people_.empty()) {
    people_ = {"FIELD-1", "FIELD-2"};
    habits.callers = {{uniform(-0.08, 0.08), 0.1}, {uniform(-0.08, 0.08), 0.1}};
  }

  ground_.patchiness = difficulty_.patchiness;
  const std::vector<double> anything(rocks_.size(), 0.3);
  for (const auto& station : plan_.stations) {
    std::vector<double> drawn_from = dirichlet(anything, generator_);
    for (double& share : drawn_from) share *= difficulty_.surprise;
    double named = 0;
    for (const auto& expected : station.expected) named += expected.percent / 100;
    for (const auto& expected : station.expected) {
      const double part = named > 0 ? expected.percent / 100 / std::max(1.0, named) : 0;
      drawn_from[*kind_named(expected.rock)] += (1 - difficulty_.surprise) * part;
    }
    const double left_over =
        (1 - difficulty_.surprise) * std::max(0.0, 1 - named) / static_cast<double>(rocks_.size());
    for (double& share : drawn_from) share = std::max(1e-3, evenness * (share + left_over));
    ground_.stations.push_back({dirichlet(drawn_from, generator_)});
  }

  // A party hunts for variety: what the plan wants, and one of whatever else turns up.
  std::vector<int> wanted(rocks_.size(), 1);
  for (const auto& kind : plan_.wanted) wanted[*kind_named(kind.rock)] = kind.number;
  party_.emplace(ground_, habits, wanted, generator_());
  party_->on_happening([this](const Happening& happening) { tell(happening); });

  for (int i = 0; i < difficulty_.outages; ++i) {
    const double begin = uniform(0.1, 0.85) * plan_.duration_minutes;
    outages_.push_back({begin, begin + outage_minutes});
  }
  std::ranges::sort(outages_, {}, &Outage::begin);
}

std::vector<protocol::EventPtr> MadeUpExercise::until(double minute) {
  // In steps of one length, so that what happens does not hang on how often it is asked for.
  while (now_ + slice_minutes <= minute) step();
  const auto here = std::stable_partition(on_the_way_.begin(), on_the_way_.end(),
                                          [&](const Said& said) { return said.arrives > minute; });
  std::vector<Said> arrived(std::make_move_iterator(here),
                            std::make_move_iterator(on_the_way_.end()));
  on_the_way_.erase(here, on_the_way_.end());
  std::ranges::stable_sort(arrived, {}, &Said::arrives);
  std::vector<protocol::EventPtr> events;
  for (Said& said : arrived) events.push_back(std::move(said.event));
  return events;
}

void MadeUpExercise::send(const Event& event, double minute) {
  const bool heeded = std::holds_alternative<protocol::Call>(event.body) ||
                      std::holds_alternative<protocol::Question>(event.body);
  if (heeded) sent_.emplace(through_the_link(minute), event);
}

void MadeUpExercise::step() {
  while (!sent_.empty() && sent_.begin()->first <= now_) {
    const auto heard = sent_.extract(sent_.begin());
    hear(heard.mapped(), heard.key());
  }
  while (!corrections_.empty() && corrections_.begin()->first <= now_) {
    const auto correction = corrections_.extract(corrections_.begin());
    const auto& amend = std::get<protocol::Amend>(correction.mapped().body);
    voice(now_, correction.mapped().from, *amend.why);
    say(now_ + 0.2, correction.mapped().from, amend);
  }
  switch (phase_) {
    case Phase::not_begun:
      say(0, people_.front(), protocol::Departure{plan_.base.station});
      voice(0.1, people_.front(), "Off we go, comms check on the move.");
      arrive_ = walk(plan_.base.station, station_name(0));
      phase_ = Phase::walking;
      return;
    case Phase::walking:
      now_ = std::min(now_ + slice_minutes, arrive_);
      if (now_ >= arrive_) arrive();
      return;
    case Phase::working: {
      const double slice = std::min(slice_minutes, leave_ - now_);
      if (slice > 0) {
        work_begun_ = now_;
        const double used = party_->work(station_, slice, latest_departure(station_) - now_);
        worked_ += used;
        now_ += used;
      }
      if (difficulty_.talk == Difficulty::Talk::talkative && chance(0.06))
        voice(now_, any_of(people_), any_of(chatter));
      if (now_ >= leave_) leave();
      return;
    }
    case Phase::over:
      now_ += slice_minutes;
  }
}

void MadeUpExercise::arrive() {
  if (homeward_) {
    say(now_, people_.front(), protocol::Arrival{plan_.base.station});
    voice(now_, people_.front(), "Back at " + plan_.base.station + ", all well.");
    phase_ = Phase::over;
    return;
  }
  const auto& station = plan_.stations[station_];
  say(now_, people_.front(), protocol::Arrival{station.station});
  voice(now_ + 0.1, people_.front(), "We are at " + station.station + ".");
  party_->arrive();
  // Wherever they are, they take one of what is ordinary there.
  const auto& shares = ground_.stations[station_].shares;
  party_->want_one_more(
      static_cast<std::size_t>(std::ranges::max_element(shares) - shares.begin()));
  leave_ =
      std::min(now_ + station.allotted_minutes * uniform(0.9, 1.2), latest_departure(station_));
  phase_ = Phase::working;
}

void MadeUpExercise::leave() {
  say(now_, people_.front(), protocol::Departure{station_name(station_)});
  const auto worth_going = [&](std::size_t station) {
    return now_ + walk(station_name(station_), station_name(station)) + least_stay <
           latest_departure(station);
  };
  std::optional<std::size_t> next = std::exchange(next_, std::nullopt);
  if (next && !worth_going(*next)) next.reset();
  for (std::size_t s = station_ + 1; !next && s < plan_.stations.size(); ++s)
    if (worth_going(s)) next = s;
  homeward_ = !next;
  const std::string to = next ? station_name(*next) : plan_.base.station;
  voice(now_ + 0.1, people_.front(),
        next ? "Leaving for " + to + "." : "That is it for us, on the way back to " + to + ".");
  arrive_ = now_ + walk(station_name(station_), to);
  if (next) station_ = *next;
  phase_ = Phase::walking;
}

void MadeUpExercise::tell(const Happening& happening) {
  // The party's own clock runs only while it works.
  const double minute = work_begun_ + (happening.minute - worked_);
  switch (happening.what) {
    case Happening::What::look:
      tell_look(*happening.counts, minute);
      return;
    case Happening::What::share:
      tell_share(*happening.share, minute);
      return;
    case Happening::What::sample:
      tell_sample(happening.kind, happening.station, work_begun_ + (happening.begun - worked_),
                  minute);
  }
}

void MadeUpExercise::tell_look(const std::vector<std::int64_t>& counts, double minute) {
  protocol::Tally tally;
  std::string words;
  for (std::size_t kind = 0; kind < counts.size(); ++kind) {
    tally.total += static_cast<int>(counts[kind]);
    if (counts[kind] == 0) continue;
    tally.counts.push_back({rocks_[kind], static_cast<int>(counts[kind])});
    words += (words.empty() ? "" : ", ") + in_words(counts[kind]) + " " + rocks_[kind];
  }
  const std::string& who = any_of(people_);
  voice(minute, who, fmt::format("Count of {}: {}.", in_words(tally.total), words));
  if (difficulty_.scribe) say(minute + 0.3, people_.back(), std::move(tally));
}

void MadeUpExercise::tell_share(const estimate::SpokenShare& share, double minute) {
  const double percent = to_five(*share.best * 100);
  const std::string& who = people_[share.caller];
  voice(minute, who, fmt::format("About {:.0f} percent of it is {}.", percent, rocks_[share.kind]));
  if (!difficulty_.scribe) return;
  protocol::Share said;
  said.rock = rocks_[share.kind];
  said.percent = around(percent, 5);
  said.best_percent = percent;
  said.caller = who;
  say(minute + 0.3, people_.back(), std::move(said));
}

void MadeUpExercise::tell_sample(std::size_t kind, std::size_t station, double begun, double done) {
  const std::string number = fmt::format("{}", ++number_);
  const std::string bag = fmt::format("{}", first_bag + number_ - 1);
  const std::string& who = any_of(people_);
  const bool wrong = chance(difficulty_.errs);
  const std::string& named = rocks_[wrong ? (kind + 1) % rocks_.size() : kind];

  Sample sample;
  sample.rock = rocks_[kind];
  const auto& [buried_words, buried] = any_of(burials);
  sample.buried_words = buried_words;
  sample.buried = around(buried, 5);
  sample.relation = any_of(relations);
  sample.picked = any_of(pickings);
  sample.like_it = around(to_five(ground_.stations[station].shares[kind] * 100), 10);

  const auto of_it = [&] {
    return difficulty_.talk == Difficulty::Talk::talkative ||
           (difficulty_.talk == Difficulty::Talk::plain && chance(0.5));
  };
  protocol::SampleTaken taken;
  taken.number = number;
  taken.bag = bag;
  taken.rock = named;
  if (chance(0.85)) {
    taken.tie = protocol::Tie{station_name(station), std::floor(uniform(0, 360)),
                              std::floor(uniform(3, 40))};
  }
  std::string words = fmt::format("Sample {}, bag {}, {}", number, bag, named);
  if (of_it()) {
    taken.buried = sample.buried;
    words += ", " + sample.buried_words;
  }
  if (of_it()) {
    taken.relation = sample.relation;
    words += ", " + sample.relation;
  }
  if (of_it()) {
    taken.picked = sample.picked;
    words += ", picked for " + sample.picked;
  }
  if (of_it()) taken.like_it = sample.like_it;
  voice(done, who, words + ".");
  const double step = (done - begun) / 4;
  int shot = 0;
  for (const protocol::View view : plan_.documentation.views) {
    if (chance(0.1)) continue;  // forgotten, as happens
    protocol::Photo photo;
    photo.sample = number;
    photo.view = view;
    say(view == protocol::View::after ? done : begun + step * ++shot, people_.back(), photo);
  }
  sample.id = say(done + 0.3, people_.back(), std::move(taken));
  if (wrong && chance(0.6)) {
    Event correction;
    correction.from = who;
    protocol::Amend amend;
    amend.target = sample.id;
    amend.changes["rock"] = rocks_[kind];
    amend.why = fmt::format("Correction, sample {} is {}, not {}.", number, rocks_[kind], named);
    correction.body = std::move(amend);
    corrections_.emplace(done + uniform(1.5, 4), std::move(correction));
  }
  samples_.emplace(number, std::move(sample));
}

void MadeUpExercise::hear(const Event& event, double minute) {
  if (const auto* call = std::get_if<protocol::Call>(&event.body)) act(event, *call, minute);
  if (const auto* question = std::get_if<protocol::Question>(&event.body))
    reply(event, *question, minute);
}

void MadeUpExercise::act(const Event& event, const protocol::Call& call, double minute) {
  using protocol::Answered;
  const std::string& leader = people_.front();
  const auto answer = [&](double at, Answered as, std::string words) {
    protocol::CallAnswer said{event.id, as, {}};
    if (!words.empty()) {
      voice(at, leader, words);
      said.text = std::move(words);
    }
    say(at, leader, std::move(said));
  };
  if (protocol::only_states_a_chance(call)) return;
  answer(minute + 0.1, Answered::heard, {});
  const double acts_at = minute + plan_.link.reaction_minutes * uniform(0.4, 1);
  const auto says = call.says.value_or(protocol::Says::free);
  if (phase_ == Phase::over || (phase_ == Phase::walking && says != protocol::Says::free)) {
    answer(acts_at, Answered::declined,
           phase_ == Phase::over ? "We are back already." : "We have left there.");
    return;
  }
  if (!chance(difficulty_.obeys)) {
    answer(acts_at, Answered::declined, any_of(excuses));
    return;
  }
  const double latest = latest_departure(station_);
  const auto minute_of = [&](const protocol::Timestamp& at) {
    return protocol::in_minutes(at.instant - plan_.start.instant);
  };
  switch (says) {
    case protocol::Says::stay: {
      const double until = call.until ? minute_of(*call.until) : std::max(leave_, acts_at) + 5;
      if (until > latest && latest < acts_at) {
        answer(acts_at, Answered::declined, "We have to be on our way by now.");
        return;
      }
      leave_ = std::min(until, latest);
      answer(acts_at, Answered::acting, until > latest ? "As long as we can." : "We stay.");
      return;
    }
    case protocol::Says::move_on: {
      leave_ = std::min(leave_, acts_at);
      if (call.station)
        for (std::size_t s = 0; s < plan_.stations.size(); ++s)
          if (station_name(s) == *call.station && s != station_) next_ = s;
      answer(acts_at, Answered::acting, "Packing up.");
      return;
    }
    case protocol::Says::get: {
      if (call.sample && !call.rock) {
        answer(acts_at, Answered::acting, "Doing that first.");
        document(*call.sample, acts_at);
        return;
      }
      const auto kind = call.rock ? kind_named(*call.rock) : std::nullopt;
      if (kind) party_->want_one_more(*kind);
      if (kind) leave_ = std::min(std::max(leave_, acts_at + plan_.pace.handling_minutes), latest);
      answer(acts_at, kind ? Answered::acting : Answered::declined,
             kind ? "Looking for one." : "We do not know that one by name.");
      return;
    }
    case protocol::Says::ask:
      party_->count_next();
      leave_ = std::min(std::max(leave_, acts_at + 1), latest);
      answer(acts_at, Answered::acting, "Counting.");
      return;
    case protocol::Says::free:
      answer(acts_at, Answered::acting, "Copy.");
  }
}

void MadeUpExercise::reply(const Event& event, const protocol::Question& question, double minute) {
  if (question.to.value_or(protocol::Side::field) != protocol::Side::field) return;
  const double at = minute + uniform(0.4, 1.2);
  const std::string& who = any_of(people_);
  const auto words = [&](const std::string& text) {
    voice(at, who, text);
    say(at + 0.1, who, protocol::Answer{event.id, text});
  };
  if (question.sample) {
    const auto found = samples_.find(*question.sample);
    if (found == samples_.end()) return words("We have no number " + *question.sample + ".");
    words(describe(*question.sample, found->second));
    tell_more(*question.sample, found->second, at + 0.4);
    return;
  }
  const auto kind = question.rock ? kind_named(*question.rock) : std::nullopt;
  if (kind && phase_ == Phase::working) {
    const auto caller = static_cast<std::size_t>(std::ranges::find(people_, who) - people_.begin());
    const auto share = speak(ground_, station_, *kind, caller, {0, 0.08}, generator_);
    words(fmt::format("{}: about {:.0f} percent.", rocks_[*kind], to_five(*share.best * 100)));
    tell_share(share, at + 0.2);
    return;
  }
  words("Cannot say from here.");
}

std::string MadeUpExercise::describe(const std::string& number, const Sample& sample) {
  return fmt::format("Number {}: {}, {}, picked for {}; {:.0f} to {:.0f} percent here is like it.",
                     number, sample.buried_words, sample.relation, sample.picked,
                     sample.like_it.low, sample.like_it.high);
}

void MadeUpExercise::tell_more(const std::string& number, const Sample& sample, double minute) {
  if (!difficulty_.scribe) return;
  protocol::SampleTaken more;
  more.number = number;
  more.buried = sample.buried;
  more.relation = sample.relation;
  more.picked = sample.picked;
  more.like_it = sample.like_it;
  say(minute, people_.back(), std::move(more));
}

void MadeUpExercise::document(const std::string& number, double minute) {
  const auto found = samples_.find(number);
  if (found == samples_.end()) return voice(minute, people_.front(), "We have no such number.");
  for (const protocol::View view : plan_.documentation.views) {
    protocol::Photo photo;
    photo.sample = number;
    photo.view = view;
    say(minute + 0.3, people_.back(), photo);
  }
  voice(minute + 0.5, any_of(people_), describe(number, found->second));
  tell_more(number, found->second, minute + 0.8);
}

protocol::Uuid MadeUpExercise::say(double minute, const std::string& from, Body body) {
  Event event;
  event.id = boost::uuids::basic_random_generator<Generator>(generator_)();
  event.at = {plan_.start.instant + protocol::from_minutes(minute), plan_.start.offset};
  event.from = from;
  event.body = std::move(body);
  const auto id = event.id;
  on_the_way_.push_back(
      {through_the_link(minute), std::make_shared<const Event>(std::move(event))});
  return id;
}

void MadeUpExercise::voice(double minute, const std::string& who, std::string words) {
  protocol::VoiceNote note;
  note.text = std::move(words);
  note.speaker = who;
  say(minute, who, std::move(note));
}

double MadeUpExercise::through_the_link(double minute) const {
  for (const Outage& outage : outages_)
    if (minute >= outage.begin && minute < outage.end) minute = outage.end;
  return minute + difficulty_.delay_seconds.value_or(plan_.link.delay_seconds) / 60;
}

double MadeUpExercise::latest_departure(std::size_t station) const {
  const auto legs = advise::legs_through(advise::way_back(plan_, station_name(station)));
  const auto times =
      advise::turn_back_times(legs, advise::walking_pace(plan_), plan_.duration_minutes, {0, 0});
  return times ? times->latest_departure : plan_.duration_minutes;
}

double MadeUpExercise::walk(const std::string& from, const std::string& to) {
  const auto way =
      to == plan_.base.station ? advise::way_back(plan_, from) : advise::way_to(plan_, from, to);
  const auto minutes =
      advise::walking_minutes(advise::legs_through(way), advise::walking_pace(plan_));
  return std::max(0.5, minutes.value_or(5) * uniform(0.95, 1.1));
}

std::vector<MadeUpExercise::TrueShare> MadeUpExercise::truth(const std::string& station) const {
  std::vector<TrueShare> shares;
  for (std::size_t s = 0; s < plan_.stations.size(); ++s) {
    if (station_name(s) != station) continue;
    for (std::size_t kind = 0; kind < rocks_.size(); ++kind)
      shares.push_back({rocks_[kind], ground_.stations[s].shares[kind]});
  }
  std::ranges::stable_sort(shares, std::greater{}, &TrueShare::share);
  return shares;
}

std::optional<std::size_t> MadeUpExercise::kind_named(const std::string& rock) const {
  const auto found = std::ranges::find(rocks_, rock);
  if (found == rocks_.end()) return std::nullopt;
  return static_cast<std::size_t>(found - rocks_.begin());
}

const std::string& MadeUpExercise::station_name(std::size_t station) const {
  return plan_.stations[station].station;
}

double MadeUpExercise::uniform(double low, double high) {
  return std::uniform_real_distribution<double>(low, high)(generator_);
}

bool MadeUpExercise::chance(double probability) {
  return uniform(0, 1) < probability;
}

}  // namespace stonecall::debrief
