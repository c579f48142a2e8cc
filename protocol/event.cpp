#include "protocol/event.hpp"

#include <algorithm>
#include <array>
#include <iterator>
#include <random>

#include <boost/uuid/random_generator.hpp>

#include "protocol/event_reader.hpp"
#include "protocol/reader.hpp"
#include "protocol/writer.hpp"

namespace stonecall::protocol {
namespace {

constexpr std::array<std::string_view, 6> kEnvelope{"id", "kind", "at", "from", "seq", "received"};

struct Envelope {
  Event& event;
};

template <class V>
void describe(V& v, Envelope& x) {
  v("id", x.event.id, Id{});
  v("at", x.event.at, Time{});
  v("from", x.event.from, Name{});
  v.maybe("seq", x.event.seq, Whole{1, 9'007'199'254'740'992});
  v.maybe("received", x.event.received, Time{});
}

/// Calls `use` with an empty body of the alternative whose kind is `kind`; false where there is
/// none.
template <class Variant, std::size_t I = 0, class Use>
bool with_kind(std::string_view kind, Use&& use) {
  if constexpr (I == std::variant_size_v<Variant>) {
    return false;
  } else {
    using Alternative = std::variant_alternative_t<I, Variant>;
    if constexpr (!std::same_as<Alternative, NotUnderstood>) {
      if (Alternative::kind == kind) {
        use(Alternative{});
        return true;
      }
    }
    return with_kind<Variant, I + 1>(kind, std::forward<Use>(use));
  }
}

tl::unexpected<Fault> fault(std::string member, std::string what) {
  return tl::make_unexpected(Fault{std::move(member), std::move(what), std::nullopt});
}

/// Fills an event from a value: the envelope first, since without it nothing can be said of it.
Result<Event> event_of(Value value) {
  if (!value.is_object()) return fault("", "an event must be a JSON object");
  const Fields fields = fields_of(value);
  Event event;
  Faults faults;
  const Place whole;
  Envelope envelope{event};
  Reader reader(fields, whole, faults);
  describe(reader, envelope);
  if (!faults.list.empty()) return tl::make_unexpected(std::move(faults.list.front()));

  const auto kind = std::ranges::find(fields, "kind", &Field::name);
  std::string_view word;
  if (kind == fields.end()) return fault("kind", "missing");
  if (kind->value.get(word)) return fault("kind", "must be text");
  if (word.empty() || word.size() > Limits::kind_bytes) {
    return fault("kind", "must be 1 to " + std::to_string(Limits::kind_bytes) + " bytes long");
  }

  Fields members;
  std::ranges::copy_if(fields, std::back_inserter(members), [](const Field& field) {
    return std::ranges::find(kEnvelope, field.name) == kEnvelope.end();
  });
  const bool known = with_kind<Body::Variant>(word, [&](auto body) {
    read_members(members, body, whole, faults, &event.unknown);
    event.body = std::move(body);
  });
  if (!faults.list.empty()) return tl::make_unexpected(std::move(faults.list.front()));
  if (!known) {
    event.body = NotUnderstood{std::string(word)};
    for (const Field& member : members) append_member(event.unknown, member);
  }
  return event;
}

/// For texts that are read one at a time; what comes of it does not point into it.
JsonText& own_text() {
  thread_local JsonText text;
  return text;
}

}  // namespace

std::string to_string(const Fault& fault) {
  std::string text;
  if (fault.line) text += "line " + std::to_string(*fault.line) + ": ";
  if (!fault.member.empty()) text += "\"" + fault.member + "\": ";
  return text + fault.what;
}

void consistent(const PercentRange& range, const std::string& path, Faults& faults) {
  if (range.low > range.high) faults.add(path, "\"low\" must not be above \"high\"");
}

void consistent(const Tally& tally, const std::string& path, Faults& faults) {
  const std::string prefix = path.empty() ? "" : path + ".";
  std::int64_t sum = 0;
  for (std::size_t i = 0; i < tally.counts.size(); ++i) {
    sum += tally.counts[i].count;
    for (std::size_t j = 0; j < i; ++j) {
      if (tally.counts[j].rock == tally.counts[i].rock) {
        return faults.add(prefix + "counts[" + std::to_string(i) + "].rock",
                          "\"" + tally.counts[i].rock + "\" is counted twice in one tally");
      }
    }
  }
  if (sum > tally.total) {
    faults.add(prefix + "total", "is " + std::to_string(tally.total) +
                                     ", but the counts add up to " + std::to_string(sum));
  }
}

void consistent(const Share& share, const std::string& path, Faults& faults) {
  if (share.best_percent &&
      (*share.best_percent < share.percent.low || *share.best_percent > share.percent.high)) {
    faults.add(path.empty() ? "best_percent" : path + ".best_percent",
               "must lie within \"percent\"");
  }
}

void consistent(const Words& words, const std::string& path, Faults& faults) {
  if (words.begin > words.end) faults.add(path, "\"begin\" must not be past \"end\"");
}

void read_fact(Value value, const Place& place, Fact& out, Faults& faults) {
  if (!value.is_object()) return faults.add(place.text(), "must be an object");
  const Fields fields = fields_of(value);
  const Place at_kind{&place, "kind"};
  const auto kind = std::ranges::find(fields, "kind", &Field::name);
  std::string_view word;
  if (kind == fields.end() || kind->value.get(word)) return faults.add(at_kind.text(), "missing");
  const bool found = with_kind<Fact>(word, [&](auto body) {
    read_members(fields, body, place, faults);
    out = Fact{std::move(body)};
  });
  if (!found) {
    faults.add(at_kind.text(),
               "must be arrival, departure, sample, photo, sighting, tally, share, question or "
               "amend");
  }
}

void append_fact(std::string& json, const Fact& fact) {
  std::visit(
      [&](const auto& body) {
        json.append(R"({"kind":")").append(body.kind).append(1, '"');
        Writer writer(json);
        describe(writer, body);
        json += '}';
      },
      fact);
}

std::string_view kind_of(const Event& event) {
  return std::visit([](const auto& body) -> std::string_view { return body.kind; }, event.body);
}

const Uuid* changed_by(const Event& event) {
  if (const auto* amend = std::get_if<Amend>(&event.body)) return &amend->target;
  if (const auto* retract = std::get_if<Retract>(&event.body)) return &retract->target;
  return nullptr;
}

Result<Json> parse_json(std::string_view text, std::size_t limit_bytes, int around) {
  return own_text().read(text, limit_bytes, around).map(json_of);
}

Result<Event> parse_event(std::string_view text) {
  return own_text().read(text, Limits::event_bytes, 0).and_then(event_of);
}

EventRead read_event(Value value) {
  EventRead read{event_of(value), {}, {}};
  if (read.event) return read;
  for (const Field& field : fields_of(value)) {
    std::string_view text;
    std::uint64_t seq = 0;
    if (field.name == "id" && !field.value.get(text)) {
      if (const auto id = parse_uuid(text)) read.id = *id;
    } else if (field.name == "seq" && !field.value.get(seq)) {
      read.seq = seq;
    }
  }
  return read;
}

Result<Event> event_from_json(const Json& json) {
  // It stands as a value already, so only the limits of its members count.
  constexpr int around = 1000;
  const std::string text = json.dump(-1, ' ', false, Json::error_handler_t::replace);
  return own_text().read(text, text.size(), around).and_then(event_of);
}

LineParts line_parts(const Event& event) {
  LineParts parts;
  parts.envelope.reserve(192);
  parts.envelope.append(R"({"id":")").append(to_string(event.id)).append(R"(","kind":)");
  append_text(parts.envelope, kind_of(event));
  Writer envelope(parts.envelope);
  envelope("at", event.at, Time{});
  envelope("from", event.from, Name{});
  envelope.maybe("seq", event.seq, Whole{});
  envelope.maybe("received", event.received, Time{});
  parts.members.reserve(256);
  Writer members(parts.members);
  std::visit([&](const auto& body) { describe(members, body); }, event.body);
  members.all_of(event.unknown);
  return parts;
}

std::string to_line(const Event& event) {
  LineParts parts = line_parts(event);
  return std::move(parts.envelope.append(parts.members).append(1, '}'));
}

Json to_json(const Event& event) {
  return Json::parse(to_line(event));
}

bool same_content(const Event& a, const Event& b) {
  const auto sent = [](Json members) {
    if (members.is_object()) members.erase("clock_off");
    return members.empty() ? Json() : members;
  };
  return a.id == b.id && a.at == b.at && a.from == b.from && a.body == b.body &&
         sent(a.unknown) == sent(b.unknown);
}

Result<Event> amended(const Event& event, const Json& changes) {
  if (!changes.is_object()) return fault("changes", "must be an object");
  Json json = to_json(event);
  Json* const members = std::holds_alternative<Reading>(event.body) ? &json["fact"] : &json;
  for (const auto& [name, value] : changes.items()) {
    if (name == "id" || name == "kind" || name == "from" || name == "seq" || name == "received") {
      return fault("changes." + name, "may not be changed");
    }
    Json& holder = name == "at" ? json : *members;
    if (value.is_null()) {
      holder.erase(name);
    } else {
      holder[name] = value;
    }
  }
  auto result = event_from_json(json);
  if (!result) result.error().member = "changes." + result.error().member;
  return result;
}

Result<Uuid> parse_uuid(std::string_view text) {
  constexpr const char* kNotAUuid = "not a UUID like 6f0c7d1e-5b0a-4c57-9a58-0d4f3f1f2a10";
  // Boost's reader also takes braces and bare hexadecimal, and was a tenth of the reading of a log;
  // RFC 9562 text is 8-4-4-4-12 and nothing else.
  constexpr std::string_view kShape = "hhhhhhhh-hhhh-hhhh-hhhh-hhhhhhhhhhhh";
  static constexpr auto digits = [] {
    std::array<std::int8_t, 256> values{};
    values.fill(-1);
    for (std::int8_t i = 0; i < 16; ++i) {
      values[static_cast<unsigned char>("0123456789abcdef"[i])] = i;
      values[static_cast<unsigned char>("0123456789ABCDEF"[i])] = i;
    }
    return values;
  }();
  Uuid id{};
  if (text.size() != kShape.size()) return fault("", kNotAUuid);
  bool fits = true;
  std::size_t at = 0;
  for (std::uint8_t& byte : id.data) {
    if (kShape[at] == '-') fits = text[at++] == '-' && fits;
    const int high = digits[static_cast<unsigned char>(text[at])];
    const int low = digits[static_cast<unsigned char>(text[at + 1])];
    fits = fits && (high | low) >= 0;
    byte = static_cast<std::uint8_t>((high & 0xF) << 4 | (low & 0xF));
    at += 2;
  }
  if (!fits) return fault("", kNotAUuid);
  return id;
}

Uuid random_uuid() {
  thread_local boost::uuids::random_generator generator;
  return generator();
}

std::string_view to_string(Says says) {
  return word_of(says);
}
std::string_view to_string(Answered answer) {
  return word_of(answer);
}
std::string_view to_string(Outcome outcome) {
  return word_of(outcome);
}
std::string_view to_string(Side side) {
  return word_of(side);
}

}  // namespace stonecall::protocol
