#include "console/commands/assemble.hpp"

#include <algorithm>
#include <cmath>
#include <filesystem>
#include <ostream>
#include <set>
#include <string_view>
#include <tuple>
#include <unordered_map>

#include <boost/algorithm/string.hpp>
#include <boost/container_hash/hash.hpp>
#include <boost/uuid/name_generator_sha1.hpp>
#include <boost/uuid/string_generator.hpp>
#include <boost/uuid/uuid_hash.hpp>

#include "console/commands/moves.hpp"
#include "console/commands/read_file.hpp"
#include "console/commands/samples_table.hpp"
#include "console/commands/speech.hpp"
#include "console/commands/waiting.hpp"
#include "console/commands/write_file.hpp"
#include "console/picture/fold.hpp"
#include "console/picture/state.hpp"
#include "console/reading/proposed.hpp"
#include "protocol/captions.hpp"

namespace stonecall::commands {
namespace {

using namespace protocol;

/// What somebody should look at. A remark says what was done; the rest was not matched or not read.
class Unmatched {
 public:
  void say(const std::string& line) {
    text_ += line + '\n';
    ++lines_;
  }
  void remark(const std::string& line) { text_ += line + '\n'; }
  const std::string& text() const { return text_; }
  std::size_t lines() const { return lines_; }

 private:
  std::string text_;
  std::size_t lines_ = 0;
};

/// Ids follow from content, in a name space of our own that was drawn once at random.
Uuid id_of(const std::string& content) {
  static const Uuid space =
      boost::uuids::string_generator()("b8f0a0c6-52cb-4f0e-9a0d-6c1d7d0e3a94");
  return boost::uuids::name_generator_sha1(space)(content);
}

std::string name_of(const std::string& path) {
  return std::filesystem::path(path).filename().string();
}

template <class Value>
const Value* given_for(const std::map<std::string, Value>& all, const std::string& path) {
  auto found = all.find(path);
  if (found == all.end()) found = all.find(name_of(path));
  return found == all.end() ? nullptr : &found->second;
}

/// What a WebVTT file says of its own start, ahead of its first cue: "start: TIME", "Started =
/// TIME". Not by std::regex, whose stack grows with the text.
std::optional<std::string> start_in(std::string_view text) {
  const std::string head = boost::to_lower_copy(
      std::string(text.substr(0, std::min(text.find("-->"), Limits::event_bytes))));
  const auto skip = [&](std::size_t from, std::string_view signs) {
    return std::min(head.find_first_not_of(signs, from), head.size());
  };
  constexpr std::string_view word = "start";
  for (std::size_t at = head.find(word); at != head.npos; at = head.find(word, at + 1)) {
    const bool opens = at == 0 || !(boost::is_alnum()(head[at - 1]) || head[at - 1] == '_');
    std::size_t after = at + word.size();
    if (head.compare(after, 2, "ed") == 0) after += 2;
    after = skip(after, " \t");
    if (!opens || after == head.size() || (head[after] != ':' && head[after] != '=')) continue;
    const std::size_t begin = skip(after + 1, " \t");
    const std::size_t end = std::min(head.find_first_of(" \t\r\n\v\f", begin), head.size());
    if (end > begin) return std::string(text.substr(begin, end - begin));
  }
  return std::nullopt;
}

struct Recording {
  std::string path;
  CaptionFormat format = CaptionFormat::web_vtt;
  CaptionClock clock;
  std::string text;
};

/// An event on its way into the log: at one time plans come first, then notes, what follows from
/// several of them, what was read from them, and the catalogue.
struct Entry {
  enum class Rank { plan, note, inferred, reading, catalogue };
  Rank rank;
  EventPtr event;
};

class Assembly {
 public:
  Assembly(const AssembleOptions& options, std::ostream& err) : options_(options), err_(err) {}

  int run(std::ostream& out) {
    if (!take_plans() || !take_recordings() || !take_catalogue()) return 2;
    if (plans_.empty() && recordings_.empty() && catalogue_.rows.empty())
      return wrong("nothing to assemble");
    hear();
    put_plans();
    read();
    if (follow()) read();  // with the stations that are known now
    match();
    if (!write()) return 2;
    out << options_.log << ": " << entries_.size() << " events: " << notes_ << " notes of "
        << recordings_.size() << (recordings_.size() == 1 ? " recording, " : " recordings, ")
        << readings_ << " facts read from them, " << catalogue_.rows.size()
        << " catalogued samples, " << matched_ << " of them heard";
    if (inferred_ > 0)
      out << "; " << inferred_ << (inferred_ == 1 ? " arrival" : " arrivals") << " inferred";
    out << '\n';
    if (unmatched_.lines() > 0)
      out << unmatched_.lines() << " not matched or not read"
          << (options_.unmatched.empty() ? "" : ": see " + options_.unmatched) << '\n';
    return unmatched_.lines() > 0 ? 1 : 0;
  }

 private:
  int wrong(const std::string& what) {
    err_ << "stonecall: " << what << '\n';
    return 2;
  }

  bool take_plans() {
    for (const std::string& path : options_.plans) {
      const auto text = read_file(path);
      if (!text) return wrong(text.error().what), false;
      auto plan = parse_plan(*text);
      if (!plan) return wrong(path + ": " + to_string(plan.error())), false;
      plans_.push_back(std::move(*plan));
    }
    std::ranges::stable_sort(plans_, {}, [](const Plan& plan) { return plan.start.instant; });
    return true;
  }

  bool take_recordings() {
    bool all = true;
    for (const std::string& path : options_.captions) {
      const bool vtt = boost::algorithm::iends_with(path, ".vtt");
      if (!vtt && !boost::algorithm::iends_with(path, ".srt"))
        return wrong(path + ": expected WebVTT (.vtt) or SubRip (.srt)"), false;
      auto text = read_file(path);
      if (!text) return wrong(text.error().what), false;
      Recording recording{path, vtt ? CaptionFormat::web_vtt : CaptionFormat::sub_rip, {}, {}};
      std::optional<std::string> start = vtt ? start_in(*text) : std::nullopt;
      if (const auto* given = given_for(options_.starts, path)) start = *given;
      const auto at = start ? parse_timestamp(*start)
                            : tl::unexpected(Fault{"", "nobody says when it started", {}});
      if (!at) {
        wrong(path + ": " + at.error().what + "; give --start " + name_of(path) +
              "=2027-05-18T09:00:00+02:00");
        all = false;
        continue;
      }
      recording.clock.start = *at;
      if (const double* offset = given_for(options_.offsets, path)) {
        constexpr double longest_seconds = 366 * 86'400.0;
        if (!(std::abs(*offset) <= longest_seconds))
          return wrong("--offset: expected seconds, at most a year"), false;
        recording.clock.offset = Milliseconds(std::llround(*offset * 1000));
      }
      recording.text = std::move(*text);
      recordings_.push_back(std::move(recording));
    }
    return all;
  }

  bool take_catalogue() {
    if (options_.samples.empty()) return true;
    const auto text = read_file(options_.samples);
    if (!text) return wrong(text.error().what), false;
    LocalTime local;
    std::set<std::string> days;
    const auto on = [&](const Timestamp& at) { days.insert(to_string(at).substr(0, 10)); };
    for (const Plan& plan : plans_) on(plan.start);
    for (const Recording& recording : recordings_) on(recording.clock.start);
    if (!plans_.empty())
      local.offset = plans_.front().start.offset;
    else if (!recordings_.empty())
      local.offset = recordings_.front().clock.start.offset;
    if (days.size() == 1) local.day = *days.begin();
    auto table = samples_from_csv(*text, local);
    if (!table) return wrong(options_.samples + ": " + to_string(table.error())), false;
    catalogue_ = std::move(*table);
    for (const Fault& fault : catalogue_.faults)
      unmatched_.say(options_.samples + ": " + to_string(fault) + ", row not read");
    for (const std::string& column : catalogue_.passed_over)
      unmatched_.remark(options_.samples + ": column \"" + column + "\" is not kept");
    return true;
  }

  void put(Entry::Rank rank, Event event) {
    entries_.push_back({rank, std::make_shared<const Event>(std::move(event))});
  }

  void hear() {
    std::map<std::string, int> named;
    for (const Recording& recording : recordings_) ++named[name_of(recording.path)];
    std::set<Uuid> known;
    for (const Recording& recording : recordings_) {
      // By its name alone, as `feed` does; a name that several days' files have needs its start
      // too.
      std::string source = name_of(recording.path);
      if (named[source] > 1) source += '\n' + to_string(recording.clock.start);
      CaptionReader reader(recording.format);
      reader.feed(recording.text);
      reader.finish();
      for (const Fault& fault : reader.take_faults()) {
        const std::string line = recording.path + ": " + to_string(fault);
        is_remark(fault) ? unmatched_.remark(line) : unmatched_.say(line);
      }
      for (const Cue& cue : reader.take_cues()) {
        Event note = voice_note(cue, recording.clock, source, options_.from);
        if (const auto who = options_.voices.find(cue.speaker); who != options_.voices.end())
          note.from = who->second;
        if (!known.insert(note.id).second) {
          unmatched_.remark(recording.path + ": line " + std::to_string(cue.line) +
                            ": the same words at the same time again, kept once");
          continue;
        }
        put(Entry::Rank::note, std::move(note));
        ++notes_;
      }
    }
    sort();
  }

  void put_plans() {
    const std::optional<Timestamp> first_note =
        entries_.empty() ? std::nullopt : std::optional(entries_.front().event->at);
    for (const Plan& plan : plans_) {
      Event given;
      given.at = plan.start;
      // What was said ahead of the start is about the plan too.
      if (&plan == &plans_.front() && first_note && first_note->instant < given.at.instant)
        given.at.instant = first_note->instant;
      given.from = plan.base.station;
      given.body = PlanGiven{plan};
      given.id = id_of(to_json(plan).dump());
      put(Entry::Rank::plan, std::move(given));
    }
    sort();
  }

  /// Each note with what was known when it was spoken. Notes that state nothing change nothing that
  /// is known, so they are left out of the picture that notes are read with.
  void read() {
    std::erase_if(entries_, [](const Entry& entry) { return entry.rank == Entry::Rank::reading; });
    readings_ = 0;
    Waiting waiting(err_);
    picture::Fold fold;
    auto picture = fold.picture();
    const std::size_t count = entries_.size();
    for (std::size_t i = 0; i < count; ++i) {
      waiting.at("reading the notes", i, count);
      const EventPtr event = entries_[i].event;
      const auto* note = std::get_if<VoiceNote>(&event->body);
      if (!note) {
        fold.add(event);
        picture = fold.picture();
        continue;
      }
      if (!picture::is_field(*picture, event->from)) continue;
      const auto made = accepted(*event, *note, *picture);
      if (made.empty()) continue;
      fold.add(event);
      for (const EventPtr& reading : made) {
        entries_.push_back({Entry::Rank::reading, reading});
        fold.add(reading);
        ++readings_;
      }
      picture = fold.picture();
    }
    picture_ = picture;
    sort();
  }

  std::vector<EventPtr> accepted(const Event& event, const VoiceNote& note,
                                 const picture::Picture& picture) {
    std::vector<reading::Proposed> proposals;
    if (picture.plan) {
      proposals = speech_.read(note.text, picture, event.at.instant);
    } else {
      proposals = reading::read_note(without_plan_, note.text,
                                     reading::context_at(picture, event.at.instant), picture,
                                     event.at.instant);
    }
    std::vector<EventPtr> readings;
    for (auto& proposal : proposals) {
      if (proposal.sureness < options_.sure) continue;
      const auto accept = [&](protocol::Fact fact) {
        Event made;
        made.at = event.at;
        made.from = picture.plan ? picture.plan->base.station : "BASE";
        Reading read;
        read.note = event.id;
        read.fact = std::move(fact);
        read.words = proposal.words;
        read.by_itself = true;
        made.body = std::move(read);
        made.id = id_of(to_json(made).dump());
        readings.push_back(std::make_shared<const Event>(std::move(made)));
      };
      for (protocol::Fact& each : reading::facts_of(proposal)) accept(std::move(each));
    }
    return readings;
  }

  /// Puts the arrivals into the log that nobody called and that are sure (see moves.hpp), each with
  /// a remark that says so. False: there are none.
  bool follow() {
    const std::string base = plans_.empty() ? "BASE" : plans_.front().base.station;
    const Moves moves = infer_moves(clues(), base);
    for (const InferredArrival& each : moves.arrivals) {
      Event arrival;
      arrival.at = at_offset(each.at);
      arrival.from = base;
      arrival.body = Arrival{each.station};
      arrival.id = id_of(to_json(arrival).dump());
      Event remark;
      remark.at = arrival.at;
      remark.from = base;
      Remark said;
      said.text = "inferred: " + each.why;
      said.about = arrival.id;
      remark.body = std::move(said);
      remark.id = id_of(to_json(remark).dump());
      put(Entry::Rank::inferred, std::move(arrival));
      put(Entry::Rank::inferred, std::move(remark));
      unmatched_.remark("nobody called the arrival at " + each.station + "; put at " +
                        to_string(at_offset(each.at)) + ": " + each.why);
    }
    for (const NowhereTold& each : moves.nowhere)
      unmatched_.say(std::to_string(each.facts) + (each.facts == 1 ? " fact" : " facts") +
                     " from " + to_string(at_offset(each.from)) + " to " +
                     to_string(at_offset(each.to)) + " stand at no station" +
                     (each.towards.empty() ? "" : ": the party was heading for " + each.towards));
    inferred_ = moves.arrivals.size();
    sort();
    return inferred_ > 0;
  }

  /// What was said of moving, and what else says where the party was.
  std::vector<Clue> clues() {
    using What = Clue::What;
    std::vector<Clue> found;
    std::unordered_map<Uuid, const Event*, boost::hash<Uuid>> notes;
    for (const Entry& entry : entries_) {
      const Instant at = entry.event->at.instant;
      if (const auto* note = std::get_if<VoiceNote>(&entry.event->body)) {
        notes.emplace(entry.event->id, entry.event.get());
        const auto still =
            picture::is_field(*picture_, entry.event->from) ? still_at(note->text) : std::string();
        if (!still.empty()) found.push_back({at, What::present, still, "", "“" + note->text + "”"});
      }
      const auto* reading = std::get_if<Reading>(&entry.event->body);
      if (!reading) continue;
      if (const auto* arrival = std::get_if<Arrival>(&reading->fact)) {
        found.push_back({at, What::arrived, arrival->station, "", ""});
      } else if (const auto* departure = std::get_if<Departure>(&reading->fact)) {
        const std::string from = departure->station.value_or("");
        const auto* note = std::get_if<VoiceNote>(&notes.at(reading->note)->body);
        found.push_back({at, What::left, from, other_station(note->text, from), ""});
      } else if (std::holds_alternative<SampleTaken>(reading->fact) ||
                 std::holds_alternative<Tally>(reading->fact) ||
                 std::holds_alternative<Share>(reading->fact)) {
        found.push_back({at, What::told, "", "", ""});
      }
    }
    const std::set<std::string> numbers = catalogued_numbers();
    for (auto& [line, sample, at] : catalogue_.rows) {
      use_planned_names(sample);
      if (!sample.station) continue;
      const auto* heard = heard_as(sample, numbers);
      if (!heard && !at) continue;
      found.push_back({heard ? heard->first : at->instant, What::present, *sample.station, "",
                       options_.samples + ": line " + std::to_string(line) + ": " + named(sample) +
                           " was picked there"});
    }
    return found;
  }

  /// The station of "still at …", empty where the note does not say so.
  std::string still_at(const std::string& text) const {
    std::string station;
    each_name([&](const std::string& name, const std::string& of) {
      for (const char* where : {"still at ", "still on ", "still in ", "still at the ",
                                "still on the ", "still in the "})
        if (boost::algorithm::icontains(text, where + name)) station = of;
    });
    return station;
  }

  /// The last station named that is not `from`.
  std::string other_station(const std::string& text, const std::string& from) const {
    std::string station;
    std::ptrdiff_t last = -1;
    each_name([&](const std::string& name, const std::string& of) {
      const auto found = boost::algorithm::ifind_last(text, name);
      if (of == from || found.empty() || found.begin() - text.begin() <= last) return;
      last = found.begin() - text.begin();
      station = of;
    });
    return station;
  }

  /// How the plans' stations and bases are called, with their names.
  template <class Use>
  void each_name(Use use) const {
    const auto place = [&](const std::string& name, const std::vector<std::string>& spoken) {
      use(name, name);
      for (const std::string& other : spoken) use(other, name);
    };
    for (const Plan& plan : plans_) {
      place(plan.base.station, plan.base.spoken);
      for (const PlannedStation& stop : plan.stations) place(stop.station, stop.spoken);
    }
  }

  std::set<std::string> catalogued_numbers() const {
    std::set<std::string> numbers;  // such a sample is no other's
    for (const auto& row : catalogue_.rows)
      if (row.sample.number) numbers.insert(picture::plain_number(*row.sample.number));
    return numbers;
  }

  /// "Welded Tuff" of the catalogue is "welded tuff" of the plan, and so is what the plan says that
  /// it is called in speech.
  void use_planned_names(SampleTaken& sample) const {
    const auto is = [](const std::string& said, const std::string& name,
                       const std::vector<std::string>& spoken) {
      return boost::algorithm::iequals(said, name) ||
             std::ranges::any_of(spoken, [&](const std::string& other) {
               return boost::algorithm::iequals(said, other);
             });
    };
    const auto put = [&](Apart<std::string>& said, const std::string& name,
                         const std::vector<std::string>& spoken) {
      if (said && is(*said, name, spoken)) said = name;
    };
    for (const Plan& plan : plans_) {
      for (const RockKind& kind : plan.vocabulary) put(sample.rock, kind.rock, kind.spoken);
      for (const PlannedStation& stop : plan.stations)
        put(sample.station, stop.station, stop.spoken);
      put(sample.station, plan.base.station, plan.base.spoken);
    }
  }

  static std::string named(const SampleTaken& sample) {
    if (!sample.number) return "the sample in bag " + *sample.bag;
    return "sample " + *sample.number + (sample.bag ? " (bag " + *sample.bag + ")" : "");
  }
  static std::string named(const picture::Sample& sample) {
    if (sample.number.empty()) return "the sample in bag " + sample.bag;
    return "sample " + sample.number + (sample.bag.empty() ? "" : " (bag " + sample.bag + ")");
  }

  /// By field number; where that was not heard, by the bag. Null: never heard.
  const picture::Sample* heard_as(const SampleTaken& sample, const std::set<std::string>& numbers) {
    const auto find = [&](auto&& fits) {
      const auto found = std::ranges::find_if(
          picture_->samples, [&](const picture::Sample& each) { return each.taken && fits(each); });
      return found == picture_->samples.end() ? nullptr : &*found;
    };
    if (sample.number) {
      const std::string number = picture::plain_number(*sample.number);
      const auto* found = find([&](const auto& each) { return each.number == number; });
      if (found) return found;
    }
    if (!sample.bag) return nullptr;
    const std::string bag = picture::plain_number(*sample.bag);
    return find(
        [&](const auto& each) { return each.bag == bag && !numbers.contains(each.number); });
  }

  void match() {
    const std::set<std::string> numbers = catalogued_numbers();
    std::set<const picture::Sample*> claimed;
    std::set<Uuid> known;
    const Timestamp end = last_moment();
    for (auto& [line, sample, at] : catalogue_.rows) {
      const std::string where = options_.samples + ": line " + std::to_string(line) + ": ";
      use_planned_names(sample);
      const std::string name = named(sample);
      Event event;
      event.from = options_.from;
      if (const auto* heard = heard_as(sample, numbers)) {
        if (!claimed.insert(heard).second) unmatched_.say(where + name + " stands there twice");
        ++matched_;
        // At the last word of it: what the catalogue says stands where they disagree.
        event.at = at_offset(heard->statements.back().at);
        disagree(where, name, sample, *heard);
        // One rock stays one sample; under which number is for a person to say.
        if (sample.number && !heard->number.empty()) sample.number = heard->number;
      } else {
        std::string what = name + " was never heard";
        if (at) {
          event.at = *at;
        } else {
          what += ", and has no time: put at the end";
          event.at = end;
        }
        unmatched_.say(where + what);
      }
      event.body = sample;
      event.id = id_of(to_json(event).dump());
      if (known.insert(event.id).second) put(Entry::Rank::catalogue, std::move(event));
    }
    if (!options_.samples.empty()) {
      for (const auto& heard : picture_->samples)
        if (heard.taken && !claimed.contains(&heard))
          unmatched_.say(named(heard) + " was heard at " + to_string(at_offset(heard.first)) +
                         " and is not in " + options_.samples);
    }
    sort();
  }

  void disagree(const std::string& where, const std::string& name, const SampleTaken& sample,
                const picture::Sample& heard) {
    const auto compare = [&](const char* member, const std::optional<std::string>& written,
                             const std::string& said) {
      if (!written || said.empty() || picture::plain_number(*written) == said) return;
      unmatched_.say(where + name + ": " + member + " " + *written + ", but heard as " + said);
    };
    compare("number", sample.number, heard.number);
    compare("bag", sample.bag, heard.bag);
    compare("rock", sample.rock, heard.rock);
    compare("station", sample.station, heard.station);
  }

  Timestamp at_offset(Instant instant) const {
    return {instant,
            entries_.empty() ? std::chrono::minutes(0) : entries_.front().event->at.offset};
  }

  /// The end of what is there: of the notes and of the rows that say when.
  Timestamp last_moment() const {
    Timestamp last;
    const auto consider = [&](const Timestamp& at) {
      if (at.instant >= last.instant) last = at;
    };
    for (const Entry& entry : entries_) consider(entry.event->at);
    for (const auto& row : catalogue_.rows)
      if (row.at) consider(*row.at);
    return last;
  }

  void sort() {
    std::ranges::stable_sort(entries_, {}, [](const Entry& entry) {
      return std::tuple(entry.event->at.instant, entry.rank);
    });
  }

  bool write() {
    std::string log;
    std::uint64_t seq = 0;
    for (const Entry& entry : entries_) {
      Event event = *entry.event;
      event.seq = ++seq;
      log += to_line(event) + '\n';
    }
    if (!write_file(options_.log, log, err_)) return false;
    if (!options_.unmatched.empty()) return write_file(options_.unmatched, unmatched_.text(), err_);
    err_ << unmatched_.text();
    return true;
  }

  const AssembleOptions& options_;
  std::ostream& err_;
  std::vector<Plan> plans_;
  std::vector<Recording> recordings_;
  SamplesTable catalogue_;
  Speech speech_;
  const reading::Reader without_plan_{reading::Vocabulary{}};
  std::vector<Entry> entries_;
  picture::PicturePtr picture_;
  Unmatched unmatched_;
  std::size_t notes_ = 0, readings_ = 0, matched_ = 0, inferred_ = 0;
};

}  // namespace

int assemble(const AssembleOptions& options, std::ostream& out, std::ostream& err) {
  std::vector<std::string> read = options.captions;
  read.insert(read.end(), options.plans.begin(), options.plans.end());
  read.push_back(options.samples);
  if (!spares({options.log, options.unmatched}, read, err)) return 2;
  return Assembly(options, err).run(out);
}

}  // namespace stonecall::commands
