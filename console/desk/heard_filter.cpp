#include "console/desk/heard_filter.hpp"

#include <algorithm>

#include "console/desk/deciding.hpp"
#include "console/desk/fact_text.hpp"
#include "console/desk/heard_words.hpp"

namespace stonecall::desk {
namespace {

using picture::HeardLine;
using picture::Picture;
using Show = HeardFilter::Show;

struct ShowOf {
  Show operator()(const protocol::VoiceNote&) const { return Show::notes; }
  Show operator()(const protocol::SampleTaken&) const { return Show::samples; }
  Show operator()(const protocol::Photo&) const { return Show::samples; }
  Show operator()(const protocol::Sighting&) const { return Show::counts; }
  Show operator()(const protocol::Tally&) const { return Show::counts; }
  Show operator()(const protocol::Share&) const { return Show::counts; }
  Show operator()(const protocol::Arrival&) const { return Show::moves; }
  Show operator()(const protocol::Departure&) const { return Show::moves; }
  Show operator()(const protocol::Call&) const { return Show::calls; }
  Show operator()(const protocol::CallAnswer&) const { return Show::calls; }
  Show operator()(const protocol::Question&) const { return Show::calls; }
  Show operator()(const protocol::Answer&) const { return Show::calls; }
  Show operator()(const protocol::PlanGiven&) const { return Show::changes; }
  Show operator()(const protocol::Reading& reading) const {
    return std::visit(*this, reading.fact);
  }
  Show operator()(const protocol::Remark&) const { return Show::remarks; }
  Show operator()(const protocol::Amend&) const { return Show::changes; }
  Show operator()(const protocol::Retract&) const { return Show::changes; }
  Show operator()(const protocol::Damaged&) const { return Show::changes; }
  Show operator()(const protocol::NotUnderstood&) const { return Show::all; }
};

/// The place that a fact names.
struct PlaceOf {
  std::optional<std::string> operator()(const protocol::Arrival& arrival) const {
    return arrival.station;
  }
  std::optional<std::string> operator()(const protocol::Reading& reading) const {
    return std::visit(*this, reading.fact);
  }
  template <class Other>
  std::optional<std::string> operator()(const Other& other) const {
    if constexpr (requires { other.station; })
      return other.station;
    else
      return std::nullopt;
  }
};

bool is_kind(Show show, const HeardLine& line) {
  return show_of(*line.event) == show ||
         std::ranges::any_of(line.readings, [&](const picture::ReadingMade& made) {
           return counts(made) && std::visit(ShowOf{}, made.reading.fact) == show;
         });
}

/// Was it said at this station, or of it?
bool is_of(const std::string& station, const HeardLine& line, const Picture& picture) {
  if (std::visit(PlaceOf{}, line.event->body) == station) return true;
  for (const picture::ReadingMade& made : line.readings)
    if (counts(made) && std::visit(PlaceOf{}, made.reading.fact) == station) return true;
  const protocol::Instant at = line.event->at.instant;
  const picture::Visit* visit = picture::last_visit(picture, at);
  return visit && visit->station == station && (!visit->left || at <= *visit->left);
}

bool says(const std::string& search, const HeardLine& line) {
  if (const auto* note = std::get_if<protocol::VoiceNote>(&line.event->body))
    return find_fold(note->text, search) != std::string_view::npos;
  return find_fold(plain_words(line), search) != std::string_view::npos;
}

char lower(char c) {
  return c >= 'A' && c <= 'Z' ? static_cast<char>(c - 'A' + 'a') : c;
}

}  // namespace

bool passes(const HeardFilter& filter, const HeardLine& line, const Picture& picture) {
  return (filter.show == Show::all || is_kind(filter.show, line)) &&
         (filter.speaker.empty() || speaker_of(*line.event) == filter.speaker) &&
         (filter.station.empty() || is_of(filter.station, line, picture)) &&
         (filter.search.empty() || says(filter.search, line));
}

Show show_of(const protocol::Event& event) {
  return std::visit(ShowOf{}, event.body);
}

std::string_view words_of(Show show) {
  switch (show) {
    case Show::all:
      return "all kinds";
    case Show::notes:
      return "notes";
    case Show::samples:
      return "samples and photographs";
    case Show::counts:
      return "counts and shares";
    case Show::moves:
      return "arrivals and departures";
    case Show::calls:
      return "calls and questions";
    case Show::remarks:
      return "pins and remarks";
    case Show::changes:
      return "corrections and plans";
  }
  return {};
}

std::string filter_words(const HeardFilter& filter) {
  std::string out;
  auto add = [&](std::string_view part) {
    if (!out.empty()) out += ", ";
    out += part;
  };
  if (filter.show != Show::all) add(words_of(filter.show));
  if (!filter.speaker.empty()) add(filter.speaker);
  if (!filter.station.empty()) add("at " + filter.station);
  if (!filter.search.empty()) add("“" + filter.search + "”");
  return out;
}

void next_kind(HeardFilter& filter) {
  filter.show = static_cast<Show>((static_cast<int>(filter.show) + 1) % HeardFilter::kinds);
}

void next_speaker(const Picture& picture, HeardFilter& filter) {
  constexpr std::size_t most_names = 32;
  std::vector<std::string> names;
  for (const HeardLine& line : picture.heard) {
    const std::string& name = speaker_of(*line.event);
    if (std::ranges::find(names, name) == names.end()) names.push_back(name);
    if (names.size() >= most_names) break;
  }
  std::ranges::sort(names);
  const auto next = std::ranges::upper_bound(names, filter.speaker);
  filter.speaker = next == names.end() ? std::string() : *next;
}

void next_station(const Picture& picture, HeardFilter& filter) {
  std::vector<std::string> names;
  for (const picture::Visit& visit : picture.visits)
    if (std::ranges::find(names, visit.station) == names.end()) names.push_back(visit.station);
  const auto at = std::ranges::find(names, filter.station);
  const auto next = filter.station.empty() || at == names.end() ? names.begin() : at + 1;
  filter.station = next == names.end() ? std::string() : *next;
}

std::size_t find_fold(std::string_view in, std::string_view what, std::size_t from) {
  const auto hit =
      std::search(in.begin() + static_cast<std::ptrdiff_t>(std::min(from, in.size())), in.end(),
                  what.begin(), what.end(), [](char a, char b) { return lower(a) == lower(b); });
  return hit == in.end() ? std::string_view::npos : static_cast<std::size_t>(hit - in.begin());
}

}  // namespace stonecall::desk
