#include "console/desk/kinds_record.hpp"

#include <algorithm>
#include <functional>
#include <map>

#include <fmt/format.h>

#include "console/desk/deciding.hpp"
#include "console/desk/fact_text.hpp"
#include "console/plates/sample_text.hpp"

namespace stonecall::desk {
namespace {

using protocol::Instant;
using Lines = std::vector<RecordLine>;

std::string place_name(const std::string& station) {
  return station.empty() ? "place not told" : station;
}

/// Samples by their bag, of those that have one.
using Bags = std::multimap<std::string_view, const picture::Sample*>;

Bags bags_of(const picture::Picture& picture) {
  Bags bags;
  for (const auto& s : picture.samples)
    if (!s.bag.empty()) bags.emplace(s.bag, &s);
  return bags;
}

/// "bag 31, Ford, 0:42, not chosen, picked: light".
std::string sample_words(const picture::Sample& s, const ClockText& clock) {
  std::string text = !s.taken        ? "photographs only"
                     : s.bag.empty() ? "no bag number"
                                     : "bag " + s.bag;
  if (!s.station.empty()) text += ", " + s.station;
  text += ", " + clock.minutes(s.first);
  if (s.unselective) text += ", not chosen";
  if (!s.picked.empty()) text += ", picked: " + s.picked;
  return text;
}

void add_sample(const picture::Sample& s, const protocol::Plan* plan, const Bags& bags,
                const ClockText& clock, const std::string& here, bool unfolded, Lines& lines) {
  const auto gaps = picture::gaps(s, plan ? plan->documentation : protocol::Documentation{});
  RecordLine line;
  line.sample = plates::sample_name(s);
  line.entry = "sample " + *line.sample;
  if (!s.statements.empty()) line.event = s.statements.front().id;
  RecordLine head = line;
  head.left = *line.sample;
  head.text = sample_words(s, clock);
  head.right = gaps.empty() ? "documented" : fmt::format("lacks {}", gaps.size());
  head.right_ink = gaps.empty() ? Ink::soft : Ink::rust;
  lines.push_back(std::move(head));
  line.right_ink = Ink::rust;
  const auto more = [&](std::string text, std::string right, Ink ink) {
    line.text = std::move(text);
    line.right = std::move(right);
    line.ink = ink;
    lines.push_back(line);
  };
  if (unfolded) {
    for (const plates::ChecklistItem& item : plates::checklist(s, plan))
      more(std::string(item.what) + ": " + item.stands, item.missing ? "lacking" : "",
           item.missing ? Ink::rust : Ink::soft);
  } else if (!gaps.empty()) {
    const bool urgent = s.station == here && std::ranges::any_of(gaps, picture::only_there);
    more(plates::gaps_text(gaps), urgent ? "only here" : "", urgent ? Ink::rust : Ink::soft);
  }
  if (plan)
    for (auto& doubt : plates::photo_doubts(s, *plan)) more(std::move(doubt), "", Ink::rust);
  const auto [first, end] = bags.equal_range(s.bag);
  for (auto other = first; other != end; ++other)
    if (other->second != &s)
      more("sample " + plates::sample_name(*other->second) + " has bag " + s.bag + " too",
           "bag twice", Ink::rust);
  for (auto& doubt : plates::contradictions(s)) more(std::move(doubt), "restated", Ink::rust);
}

Lines samples_of(const View& view, const std::string& rock, const ClockText& clock,
                 const std::string& here, const std::optional<std::string>& unfolded) {
  const picture::Picture& p = *view.picture;
  const Bags bags = bags_of(p);
  Lines lines;
  for (const auto& s : p.samples)
    if (s.rock == rock && s.first <= view.now)
      add_sample(s, view.plan(), bags, clock, here, unfolded == plates::sample_name(s), lines);
  return lines;
}

/// What is known of the kind at one station.
struct KindAtPlace {
  int bagged = 0, counted = 0, looked_at = 0;
  bool seen = false, absent = false;
  const picture::SpokenShare* share = nullptr;  ///< said last
  std::optional<double> expected;               ///< percent
};

/// By name, in the order in which they are found.
using Places = std::vector<std::pair<std::string, KindAtPlace>>;

Places find_places(const View& view, const std::string& rock) {
  const picture::Picture& p = *view.picture;
  Places places;
  const auto at = [&](const std::string& station) -> KindAtPlace& {
    const std::string name = place_name(station);
    const auto found = std::ranges::find(places, name, &Places::value_type::first);
    return found != places.end() ? found->second : places.emplace_back(name, KindAtPlace{}).second;
  };
  for (const auto& s : p.samples)
    if (s.rock == rock && s.taken && s.first <= view.now) ++at(s.station).bagged;
  for (const auto& look : p.looks) {
    const auto count = std::ranges::find(look.counts, rock, &protocol::RockCount::rock);
    if (count == look.counts.end() || look.origin.at > view.now) continue;
    at(look.station).counted += count->count;
  }
  for (const auto& share : p.shares)
    if (share.rock == rock && share.origin.at <= view.now) at(share.station).share = &share;
  for (const auto& seen : p.sightings)
    if (seen.rock == rock && seen.origin.at <= view.now)
      (seen.present ? at(seen.station).seen : at(seen.station).absent) = true;
  if (p.plan)
    for (const auto& station : p.plan->stations)
      for (const auto& each : station.expected)
        if (each.rock == rock) at(station.station).expected = each.percent;
  for (const auto& look : p.looks)
    for (auto& [name, place] : places)
      if (look.station == name && look.origin.at <= view.now) place.looked_at += look.total;
  return places;
}

/// "Ford, 2 bagged, 3 of 20 counted, said to be 10–20 %".
std::string place_words(const std::string& name, const KindAtPlace& place) {
  std::string told = name;
  const auto add = [&](const std::string& part) { told += ", " + part; };
  if (place.bagged > 0) add(fmt::format("{} bagged", place.bagged));
  if (place.looked_at > 0) add(fmt::format("{} of {} counted", place.counted, place.looked_at));
  if (place.share)
    add("said to be " + range_text({place.share->low * 100, place.share->high * 100}));
  if (place.seen && place.bagged == 0 && place.counted == 0) add("seen");
  if (place.absent && !place.seen && place.bagged == 0) add("named absent");
  return told;
}

/// Each station where the kind was bagged, counted, told of or is expected, in the order in which
/// the party came there.
Lines places_of(const View& view, const std::string& rock, const ClockText& clock) {
  const auto& visits = view.picture->visits;
  const auto arrival = [&](const std::string& name) {
    const auto visit = std::ranges::find(visits, name, &picture::Visit::station);
    return visit == visits.end() ? Instant::max() : (*visit).arrived;
  };
  Places places = find_places(view, rock);
  std::ranges::stable_sort(places, {}, [&](const auto& each) { return arrival(each.first); });
  Lines lines;
  for (const auto& [name, place] : places) {
    RecordLine line;
    if (const Instant arrived = arrival(name); arrived != Instant::max())
      line.left = clock.minutes(arrived);
    line.text = place_words(name, place);
    if (place.expected) line.right = fmt::format("expected {:.0f} %", *place.expected);
    line.entry = "place " + name;
    line.station = name;
    lines.push_back(std::move(line));
  }
  return lines;
}

bool names_kind(const protocol::Fact& fact, const std::string& rock) {
  if (const auto* s = std::get_if<protocol::SampleTaken>(&fact)) return s->rock == rock;
  if (const auto* s = std::get_if<protocol::Sighting>(&fact)) return s->rock == rock;
  if (const auto* s = std::get_if<protocol::Share>(&fact)) return s->rock == rock;
  if (const auto* t = std::get_if<protocol::Tally>(&fact))
    return std::ranges::find(t->counts, rock, &protocol::RockCount::rock) != t->counts.end();
  return false;
}

/// A word about the kind: who said it, and where, or that it is still to be decided.
struct Word {
  Instant at{};
  protocol::Uuid event{};
  std::string from, text, right;
  bool open = false;
};

std::vector<Word> facts_of(const picture::Picture& p, const std::string& rock) {
  std::vector<Word> words;
  const auto add = [&](const picture::Origin& o, std::string text, const std::string& station) {
    words.push_back({o.at, o.id, o.from, std::move(text), station});
  };
  for (const auto& s : p.shares)
    if (s.rock == rock)
      add(s.origin, "share " + range_text({s.low * 100, s.high * 100}), s.station);
  for (const auto& s : p.sightings)
    if (s.rock == rock) add(s.origin, s.present ? "seen" : "none seen so far", s.station);
  for (const auto& l : p.looks)
    for (const auto& count : l.counts)
      if (count.rock == rock)
        add(l.origin, fmt::format("counted {} of {}", count.count, l.total), l.station);
  return words;
}

void add_undecided(const View& view, const std::string& rock, std::vector<Word>& words) {
  if (!view.proposals) return;
  // Undecided ones pile up only where nobody decides; the newest are those in question.
  constexpr std::size_t looked_at = 4000;
  const auto& heard = view.picture->heard;
  for (std::size_t i = heard.size() - std::min(heard.size(), looked_at); i < heard.size(); ++i)
    for (const Proposal* proposal : undecided(view, heard[i]))
      if (names_kind(proposal->fact, rock))
        words.push_back({heard[i].event->at.instant, heard[i].event->id,
                         speaker_of(*heard[i].event), chip_text(proposal->fact), "to decide",
                         true});
}

/// What was said of the kind, the newest first: facts, and what notes seem to say and nobody
/// decided yet.
Lines words_of(const View& view, const std::string& rock, const ClockText& clock) {
  std::vector<Word> words = facts_of(*view.picture, rock);
  add_undecided(view, rock, words);
  std::erase_if(words, [&](const Word& word) { return word.at > view.now; });
  std::vector<std::pair<Instant, RecordLine>> said;
  for (Word& word : words) {
    RecordLine line;
    line.left = clock.minutes(word.at);
    line.text = word.from + ": " + word.text;
    line.right = std::move(word.right);
    if (word.open) line.ink = line.right_ink = Ink::rust;
    line.entry = "word " + std::to_string(said.size());
    line.event = word.event;
    said.emplace_back(word.at, std::move(line));
  }
  std::ranges::stable_sort(said, std::greater<>{}, &std::pair<Instant, RecordLine>::first);
  Lines lines;
  for (auto& [at, line] : said) lines.push_back(std::move(line));
  return lines;
}

}  // namespace

Lines kind_record(const View& view, const std::string& rock, const ClockText& clock,
                  const std::string& here, const std::optional<std::string>& unfolded) {
  Lines lines;
  const auto add_part = [&](std::string name, std::string aside, Lines part) {
    if (part.empty()) return;
    RecordLine head;
    head.text = std::move(name);
    head.right = std::move(aside);
    lines.push_back(std::move(head));
    std::ranges::move(part, std::back_inserter(lines));
  };
  add_part("Samples", "", samples_of(view, rock, clock, here, unfolded));
  add_part("Places", "", places_of(view, rock, clock));
  add_part("What was said", "newest first", words_of(view, rock, clock));
  return lines;
}

std::string kind_summary(const View& view, const std::string& rock, const ClockText& clock) {
  std::map<std::string, int> places;
  int bagged = 0;
  for (const auto& s : view.picture->samples)
    if (s.rock == rock && s.taken && s.first <= view.now) {
      ++bagged;
      ++places[place_name(s.station)];
    }
  std::string where;
  for (const auto& [station, n] : places)
    where += (where.empty() ? ": " : ", ") + fmt::format("{} {}", station, n);
  const auto seen = picture::first_seen(*view.picture, rock);
  return fmt::format("{} bagged{}. {}", bagged, where,
                     seen ? "First seen " + clock.minutes(*seen) + "." : "Not met.");
}

}  // namespace stonecall::desk
