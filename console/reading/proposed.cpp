#include "console/reading/proposed.hpp"

#include <algorithm>
#include <map>

#include <boost/algorithm/string/case_conv.hpp>

namespace stonecall::reading {
namespace {

using protocol::Json;

protocol::PercentRange range_of(const Portion& portion) {
  return {portion.low, portion.high};
}

/// A statement about a sample inside an event, direct or read from a note.
const protocol::SampleTaken* statement_in(const protocol::Event& event) {
  if (const auto* direct = std::get_if<protocol::SampleTaken>(&event.body)) return direct;
  return nullptr;
}

const protocol::SampleTaken* statement_in(const protocol::Reading& reading) {
  if (reading.outcome == protocol::Outcome::declined) return nullptr;
  return std::get_if<protocol::SampleTaken>(&reading.fact);
}

/// Joins what one note says, part by part.
class Joiner {
 public:
  Joiner(std::string_view text, const Context& context, const picture::Picture& picture,
         picture::Instant now)
      : text_(text), context_(context), picture_(picture), now_(now) {}

  std::vector<Proposed> join(const std::vector<Proposal>& facts) {
    for (const auto& each : facts) note_subject(each.fact);
    picked_before_ = picked_before();
    note_other_bag();
    for (const auto& each : facts)
      std::visit([&](const auto& fact) { add(fact, each); }, each.fact);
    place_rocks();
    finish_sample();
    finish_tally();
    finish_movement();
    std::ranges::stable_sort(done_, {}, [](const Proposed& each) { return each.words.begin; });
    return std::move(done_);
  }

 private:
  /// A fact being put together from several parts.
  struct Part {
    bool any = false;
    protocol::Words words;
    double sureness = 1;

    void take(const Proposal& from) {
      words.begin = any ? std::min(words.begin, from.words.begin) : from.words.begin;
      words.end = any ? std::max(words.end, from.words.end) : from.words.end;
      sureness = std::min(sureness, from.sureness);
      any = true;
    }
  };

  void note_subject(const Fact& fact) {
    if (const auto* number = std::get_if<FieldNumber>(&fact); number && number_.empty())
      number_ = number->digits;
    if (const auto* bag = std::get_if<BagNumber>(&fact); bag && bag_.empty()) bag_ = bag->digits;
    if (const auto* happened = std::get_if<Happened>(&fact))
      sampled_ = sampled_ || happened->what == What::sample;
    of_known_ = of_known_ || std::holds_alternative<PhotoTaken>(fact) ||
                std::holds_alternative<PutRight>(fact);
  }

  /// The rock picked up last, where it has no number and this note gives it one.
  const picture::Sample* picked_before() const {
    if (!context_.unnumbered || number_.empty() || sampled_ || of_known_ ||
        context_.samples.contains(number_))
      return nullptr;
    const picture::Sample* last = nullptr;
    for (const auto& sample : picture_.samples)
      if (sample.taken && sample.first <= now_ && (!last || sample.first >= last->first))
        last = &sample;
    const bool other_bag = last && !bag_.empty() && !last->bag.empty() && last->bag != bag_;
    return last && last->number.empty() && !other_bag ? last : nullptr;
  }

  /// A note that names only a bag speaks of the sample in that bag. Where the last sample lies in
  /// another one it is not meant; a bag that nobody named yet holds a rock just picked up.
  void note_other_bag() {
    if (bag_.empty() || !number_.empty() || sampled_) return;
    const auto with = [&](auto member, const std::string& value) -> const picture::Sample* {
      for (std::size_t i = picture_.samples.size(); i-- > 0;)
        if (picture_.samples[i].*member == value && picture_.samples[i].first <= now_)
          return &picture_.samples[i];
      return nullptr;
    };
    const picture::Sample* last = context_.last_sample.empty()
                                      ? nullptr
                                      : with(&picture::Sample::number, context_.last_sample);
    if (!last || last->bag.empty() || last->bag == bag_) return;
    other_bag_ = true;
    sampled_ = !with(&picture::Sample::bag, bag_);
  }

  void propose(const Proposal& from, protocol::Fact fact) {
    done_.push_back({{from.words.begin, from.words.end}, std::move(fact), from.sureness, {}, {}});
  }
  void propose(const Part& part, protocol::Fact fact) {
    done_.push_back({part.words, std::move(fact), part.sureness, {}, {}});
  }

  /// The sample that a note without a number speaks of: the one just picked up is new, else the
  /// last one.
  std::optional<std::string> subject() const {
    if (!number_.empty()) return number_;
    if (sampled_ || other_bag_ || context_.last_sample.empty()) return std::nullopt;
    return context_.last_sample;
  }

  bool listed(bool planned) const {
    return planned || !picture_.plan || picture_.plan->vocabulary.empty();
  }

  void add(const Happened& fact, const Proposal& from) {
    switch (fact.what) {
      case What::arrive:
      case What::leave:
        moved_ = fact.what;
        movement_.take(from);
        break;
      case What::sample:
        sample_part_.take(from);
        break;
      case What::question:
        propose(from, protocol::Question{std::string(text_), protocol::Side::back_room, {}, {}});
        break;
    }
  }
  void add(const AtStation& fact, const Proposal& from) {
    station_ = fact.station;
    if (fact.said) movement_.take(from);
  }
  void add(const FieldNumber&, const Proposal& from) { number_part_.take(from); }
  void add(const BagNumber& fact, const Proposal& from) {
    sample_.bag = fact.digits;
    sample_part_.take(from);
  }
  void add(const RockHere& fact, const Proposal& from) {
    if (listed(fact.planned)) rocks_.emplace_back(fact.rock, from);
  }
  void add(const RockAbsent& fact, const Proposal& from) {
    if (listed(fact.planned)) propose(from, protocol::Sighting{fact.rock, false, {}});
  }
  void add(const RockShare& fact, const Proposal& from) {
    if (!listed(fact.planned)) return;
    spoken_for_.push_back(fact.rock);
    propose(from, protocol::Share{fact.rock, range_of(fact.percent), fact.percent.best, {}, {}});
  }
  void add(const RockCounted& fact, const Proposal& from) {
    spoken_for_.push_back(fact.rock);
    tally_.counts.push_back({fact.rock, fact.count});
    tally_part_.take(from);
  }
  void add(const RocksLookedAt& fact, const Proposal& from) {
    tally_.total = fact.total;
    tally_part_.take(from);
  }
  void add(const PhotoTaken& fact, const Proposal& from) {
    const auto view = fact.picture == Picture::stereo     ? protocol::View::stereo_pair
                      : fact.picture == Picture::down_sun ? protocol::View::down_sun
                                                          : protocol::View::after;
    propose(from, protocol::Photo{subject(), view, {}});
  }
  void add(const LongestSide& fact, const Proposal& from) {
    sample_.size_mm = fact.mm;
    sample_part_.take(from);
  }
  void add(const BuriedPart& fact, const Proposal& from) {
    sample_.buried = range_of(fact.percent);
    sample_part_.take(from);
  }
  void add(const Described& fact, const Proposal& from) {
    auto& member = fact.trait == Trait::colour    ? sample_.colour
                   : fact.trait == Trait::texture ? sample_.texture
                   : fact.trait == Trait::shape   ? sample_.shape
                   : fact.trait == Trait::picked  ? sample_.picked
                                                  : sample_.relation;
    member = member ? *member + "; " + fact.words : fact.words;
    sample_part_.take(from);
  }

  void add(const PutRight& fact, const Proposal& from) {
    if (fact.what == Changed::station) return put_right_station(fact, from);
    const std::string number = fact.sample.value_or(subject().value_or(""));
    const char* member = fact.what == Changed::bag    ? "bag"
                         : fact.what == Changed::rock ? "rock"
                                                      : "number";
    std::vector<protocol::Uuid> amends;
    const auto known =
        context_.statements ? context_.statements : std::make_shared<const Statements>(picture_);
    for (const auto& said : known->about(number)) {
      if (said.at > now_) break;
      const bool gives = fact.what == Changed::bag    ? said.bag
                         : fact.what == Changed::rock ? said.rock
                                                      : said.number;
      if (!gives) continue;
      // A number stands in each statement about the sample; a bag or a rock in the last one that
      // gave it.
      if (fact.what != Changed::sample_number) amends.clear();
      amends.push_back(said.id);
    }
    if (amends.empty()) return;
    propose(from, protocol::Amend{amends.front(), Json{{member, fact.to}}, std::string(text_)});
    done_.back().also_amends.assign(amends.begin() + 1, amends.end());
  }

  void put_right_station(const PutRight& fact, const Proposal& from) {
    const auto later = std::ranges::partition_point(
        picture_.heard, [&](const auto& line) { return line.event->at.instant <= now_; });
    for (auto line = std::make_reverse_iterator(later); line != picture_.heard.rend(); ++line) {
      if (line->retracted) continue;
      std::optional<Uuid> arrival;
      if (std::holds_alternative<protocol::Arrival>(line->event->body)) arrival = line->event->id;
      for (const auto& reading : line->readings) {
        const bool counts =
            !reading.retracted && reading.reading.outcome != protocol::Outcome::declined;
        if (counts && std::holds_alternative<protocol::Arrival>(reading.reading.fact))
          arrival = reading.id;
      }
      if (!arrival) continue;
      propose(from, protocol::Amend{*arrival, Json{{"station", fact.to}}, std::string(text_)});
      return;
    }
  }

  using Uuid = protocol::Uuid;

  /// The first kind named with a sample is the sample's; others are seen besides.
  void place_rocks() {
    for (const auto& [rock, from] : rocks_) {
      const bool said_already = std::ranges::find(spoken_for_, rock) != spoken_for_.end();
      if (sampled_ && !sample_.rock) {
        sample_.rock = rock;
        sample_part_.take(from);
      } else if (!said_already && sample_.rock != rock) {
        propose(from, protocol::Sighting{rock, true, {}});
      }
    }
  }

  /// A number, and what else is said of the rock that was picked up before.
  void number_picked() {
    Part part = sample_part_;
    const auto& number = number_part_.words;
    part.words = part.any ? protocol::Words{std::min(part.words.begin, number.begin),
                                            std::max(part.words.end, number.end)}
                          : number;
    part.sureness = std::min(part.sureness, number_part_.sureness);
    sample_.number = number_;
    if (!picked_before_->bag.empty()) {
      sample_.bag = picked_before_->bag;
      return propose(part, sample_);
    }
    Json changes{{"number", number_}};
    if (sample_.bag) changes["bag"] = *sample_.bag;
    propose(part,
            protocol::Amend{picked_before_->statements.back().id, changes, std::string(text_)});
    protocol::SampleTaken bare;
    bare.number = sample_.number;
    bare.bag = sample_.bag;
    if (sample_ != bare) done_.back().also.push_back(sample_);
  }

  void finish_sample() {
    if (picked_before_) return number_picked();
    if (!sample_part_.any) return;
    sample_.number = subject();
    // Without a number and without having been picked up just now, nobody knows which rock is
    // meant.
    if (!sample_.number && !sampled_ && !sample_.bag) return;
    if (number_part_.any) {
      sample_part_.words.begin = std::min(sample_part_.words.begin, number_part_.words.begin);
      sample_part_.words.end = std::max(sample_part_.words.end, number_part_.words.end);
    }
    propose(sample_part_, sample_);
  }

  void finish_tally() {
    if (!tally_part_.any || tally_.counts.empty()) return;
    std::erase_if(tally_.counts,
                  [seen = std::vector<std::string>{}](const protocol::RockCount& count) mutable {
                    if (std::ranges::find(seen, count.rock) != seen.end()) return true;
                    seen.push_back(count.rock);
                    return false;
                  });
    int sum = 0;
    for (const auto& count : tally_.counts) sum += count.count;
    tally_.total = std::max(tally_.total, sum);
    propose(tally_part_, tally_);
  }

  void finish_movement() {
    if (!moved_) return;
    if (*moved_ == What::arrive) {
      if (!station_.empty()) propose(movement_, protocol::Arrival{station_});
    } else {
      propose(movement_,
              protocol::Departure{station_.empty() ? std::nullopt : std::optional(station_)});
    }
  }

  std::string_view text_;
  const Context& context_;
  const picture::Picture& picture_;
  const picture::Instant now_;
  std::vector<Proposed> done_;

  std::string number_;      ///< the field number that the note names
  std::string bag_;         ///< the bag that the note names
  bool sampled_ = false;    ///< a rock was picked up or bagged
  bool other_bag_ = false;  ///< not that of the last sample
  bool of_known_ = false;   ///< tells of a picture or puts something right
  const picture::Sample* picked_before_ = nullptr;
  Part number_part_;
  protocol::SampleTaken sample_;
  Part sample_part_;
  protocol::Tally tally_;
  Part tally_part_;
  std::optional<What> moved_;
  std::string station_;
  Part movement_;
  std::vector<std::pair<std::string, Proposal>> rocks_;
  std::vector<std::string> spoken_for_;  ///< rocks that stand in a share or a tally of the note
};

}  // namespace

std::vector<protocol::Fact> facts_of(const Proposed& proposed) {
  std::vector<protocol::Fact> facts{proposed.fact};
  facts.insert(facts.end(), proposed.also.begin(), proposed.also.end());
  if (const auto* amend = std::get_if<protocol::Amend>(&proposed.fact))
    for (const auto& target : proposed.also_amends)
      facts.push_back(protocol::Amend{target, amend->changes, amend->why});
  return facts;
}

Vocabulary vocabulary_of(const protocol::Plan& plan) {
  Vocabulary vocabulary;
  for (const auto& kind : plan.vocabulary) vocabulary.rocks.push_back({kind.rock, kind.spoken});
  for (const auto& station : plan.stations)
    vocabulary.stations.push_back({station.station, station.spoken});
  vocabulary.stations.push_back({plan.base.station, plan.base.spoken});
  return vocabulary;
}

const std::vector<Statements::Statement>& Statements::about(const std::string& number) const {
  std::call_once(looked_, [&] {
    const auto consider = [&](const protocol::Uuid& id, picture::Instant at,
                              const protocol::SampleTaken* said) {
      if (said && said->number)
        by_number_[*said->number].push_back(
            {id, at, true, said->bag.has_value(), said->rock.has_value()});
    };
    for (const auto& line : picture_.heard) {
      if (line.retracted) continue;
      const auto at = line.event->at.instant;
      consider(line.event->id, at, statement_in(*line.event));
      for (const auto& reading : line.readings)
        if (!reading.retracted) consider(reading.id, at, statement_in(reading.reading));
    }
  });
  static const std::vector<Statement> nothing;
  const auto found = by_number_.find(number);
  return found == by_number_.end() ? nothing : found->second;
}

Contexts::Contexts(const picture::Picture& picture) {
  if (picture.plan) {
    for (const auto& person : picture.plan->people) {
      if (person.role == protocol::Side::field)
        party_.push_back(boost::algorithm::to_lower_copy(person.name));
      else
        back_room_.push_back(boost::algorithm::to_lower_copy(person.name));
    }
  }
  std::vector<const picture::Sample*> samples;
  auto taken = std::make_shared<SampleNumbers::Taken>();
  for (const auto& sample : picture.samples) {
    if (!sample.taken) continue;
    samples.push_back(&sample);
    if (sample.number.empty()) continue;
    const auto [place, fresh] = taken->try_emplace(sample.number, sample.first);
    if (!fresh) place->second = std::min(place->second, sample.first);
  }
  std::ranges::stable_sort(samples, {}, &picture::Sample::first);
  last_.reserve(samples.size());
  for (const auto* sample : samples) {
    Last last = last_.empty() ? Last{} : last_.back();
    last.from = sample->first;
    last.unnumbered = sample->number.empty();
    if (!sample->number.empty()) last.sample = sample->number;
    if (!sample->bag.empty()) last.bag = sample->bag;
    last_.push_back(std::move(last));
  }
  taken_ = std::move(taken);
  statements_ = std::make_shared<const Statements>(picture);
}

Context Contexts::at(const picture::Picture& picture, picture::Instant now) const {
  Context context;
  if (const auto* visit = picture::visit_at(picture, now)) context.station = visit->station;
  context.party = party_;
  context.back_room = back_room_;
  context.samples = SampleNumbers(taken_, now);
  context.statements = statements_;
  const auto after = std::ranges::upper_bound(last_, now, {}, &Last::from);
  if (after == last_.begin()) return context;
  context.last_sample = std::prev(after)->sample;
  context.last_bag = std::prev(after)->bag;
  context.unnumbered = std::prev(after)->unnumbered;
  return context;
}

namespace {

/// The shares of the field's last note before `now`, each kind's as it was decided, else as it is
/// read in the note's text.
SharesSaid shares_before(const picture::Picture& picture, picture::Instant now,
                         const Reader& reader) {
  const auto later = std::ranges::partition_point(
      picture.heard, [&](const auto& line) { return line.event->at.instant < now; });
  for (auto line = std::make_reverse_iterator(later); line != picture.heard.rend(); ++line) {
    const auto* note = std::get_if<protocol::VoiceNote>(&line->event->body);
    if (!note || line->retracted || !picture::is_word_of_field(picture, *line->event)) continue;
    std::map<std::string, double> said;
    std::string last;
    for (const Proposal& proposal : reader.read(note->text, {}))
      if (const auto* share = std::get_if<RockShare>(&proposal.fact))
        said[last = share->rock] = share->percent.best;
    for (const auto& made : line->readings) {
      const auto* share = std::get_if<protocol::Share>(&made.reading.fact);
      if (!share) continue;
      if (made.retracted || made.reading.outcome == protocol::Outcome::declined)
        said.erase(share->rock);
      else
        said[share->rock] =
            share->best_percent.value_or((share->percent.low + share->percent.high) / 2);
    }
    double sum = 0;
    for (const auto& [rock, percent] : said) sum += percent;
    return {sum > 0 && sum < 100 ? 100 - sum : 0, said.contains(last) ? last : std::string()};
  }
  return {};
}

}  // namespace

Context context_at(const picture::Picture& picture, picture::Instant now) {
  return Contexts(picture).at(picture, now);
}

std::vector<Proposed> read_note(const Reader& reader, std::string_view text, Context context,
                                const picture::Picture& picture, picture::Instant now) {
  context.find_shares_before = [&] { return shares_before(picture, now, reader); };
  return proposed(reader.read(text, context), text, context, picture, now);
}

std::vector<Proposed> proposed(const std::vector<Proposal>& facts, std::string_view text,
                               const Context& context, const picture::Picture& picture,
                               picture::Instant now) {
  return Joiner(text, context, picture, now).join(facts);
}

}  // namespace stonecall::reading
