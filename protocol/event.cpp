#include "protocol/event.hpp"

#include <array>
#include <random>

#include <boost/uuid/random_generator.hpp>

#include "protocol/reader.hpp"

namespace stonecall::protocol {
namespace {

constexpr std::array kEnvelope{"id", "kind", "at", "from", "seq", "received"};

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

/// Depth of nesting, found without building anything; brackets inside texts do not count.
int nesting_of(std::string_view text) {
  int depth = 0;
  int deepest = 0;
  bool in_text = false;
  for (std::size_t i = 0; i < text.size(); ++i) {
    const char c = text[i];
    if (in_text) {
      if (c == '\\') {
        ++i;
      } else if (c == '"') {
        in_text = false;
      }
    } else if (c == '"') {
      in_text = true;
    } else if (c == '{' || c == '[') {
      deepest = std::max(deepest, ++depth);
    } else if (c == '}' || c == ']') {
      --depth;
    }
  }
  return deepest;
}

tl::unexpected<Fault> fault(std::string member, std::string what) {
  return tl::make_unexpected(Fault{std::move(member), std::move(what), std::nullopt});
}

/// The library's message without its own name in front: "line 3, column 5: …", or "column 5: …" of
/// a text of one line, whose number only the file knows that it stands in.
std::string plain_message(const std::exception& error, bool one_line) {
  std::string text = error.what();
  if (const auto end = text.find("] "); end != std::string::npos) text.erase(0, end + 2);
  constexpr std::string_view front = "parse error at ", first = "line 1, ";
  if (text.starts_with(front)) text.erase(0, front.size());
  if (one_line && text.starts_with(first)) text.erase(0, first.size());
  // The offending bytes themselves may be no UTF-8, and this text goes into JSON answers.
  for (char& c : text) {
    if (static_cast<unsigned char>(c) >= 0x80) c = '?';
  }
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

Result<Fact> parse_fact(const Json& json, const std::string& path) {
  if (!json.is_object()) return fault(path, "must be an object");
  const auto kind = json.find("kind");
  if (kind == json.end() || !kind->is_string()) return fault(path + ".kind", "missing");
  Result<Fact> result;
  const bool found = with_kind<Fact>(kind->get_ref<const std::string&>(), [&](auto body) {
    if (auto bad = read_object(json, body, path)) {
      result = tl::make_unexpected(std::move(*bad));
    } else {
      result = Fact{std::move(body)};
    }
  });
  if (!found) {
    return fault(
        path + ".kind",
        "must be arrival, departure, sample, photo, sighting, tally, share, question or amend");
  }
  return result;
}

Json fact_to_json(const Fact& fact) {
  return std::visit(
      [](const auto& body) {
        Json json = Json::object();
        json["kind"] = std::string(body.kind);
        Writer writer(json);
        describe(writer, body);
        return json;
      },
      fact);
}

std::string_view kind_of(const Event& event) {
  return std::visit([](const auto& body) -> std::string_view { return body.kind; }, event.body);
}

Result<Json> parse_json(std::string_view text, std::size_t limit_bytes, int around) {
  if (text.size() > limit_bytes) {
    return fault("", "is " + std::to_string(text.size()) + " bytes long; the limit is " +
                         std::to_string(limit_bytes));
  }
  if (const int depth = nesting_of(text); depth > Limits::nesting + around) {
    return fault("", "is nested " + std::to_string(depth) + " deep; the limit is " +
                         std::to_string(Limits::nesting));
  }
  try {
    return Json::parse(text);
  } catch (const Json::exception& error) {
    return fault("",
                 "not JSON: " + plain_message(error, text.find('\n') == std::string_view::npos));
  }
}

Result<Event> parse_event(std::string_view text) {
  auto json = parse_json(text, Limits::event_bytes, 0);
  if (!json) return tl::make_unexpected(json.error());
  return event_from_json(*json);
}

Result<Event> event_from_json(const Json& json) {
  if (!json.is_object()) return fault("", "an event must be a JSON object");
  Event event;
  Faults faults;
  Reader envelope(json, "", faults);
  Envelope fields{event};
  describe(envelope, fields);
  if (!faults.list.empty()) return tl::make_unexpected(std::move(faults.list.front()));

  const auto kind = json.find("kind");
  if (kind == json.end()) return fault("kind", "missing");
  if (!kind->is_string()) return fault("kind", "must be text");
  const auto& word = kind->get_ref<const std::string&>();
  if (word.empty() || word.size() > Limits::kind_bytes) {
    return fault("kind", "must be 1 to " + std::to_string(Limits::kind_bytes) + " bytes long");
  }

  std::optional<Fault> bad;
  Json unknown = Json::object();
  const bool known = with_kind<Body::Variant>(word, [&](auto body) {
    bad = read_object(json, body, "", &unknown);
    event.body = std::move(body);
  });
  if (bad) return tl::make_unexpected(std::move(*bad));
  if (!known) {
    event.body = NotUnderstood{word};
    unknown = json;
  }
  for (const char* name : kEnvelope) unknown.erase(name);
  // The envelope's members leave their room behind, which thousands of events would keep.
  if (!unknown.empty()) event.unknown = std::move(unknown);
  return event;
}

Json to_json(const Event& event) {
  Json json = Json::object();
  json["id"] = to_string(event.id);
  json["kind"] = std::string(kind_of(event));
  Writer writer(json);
  writer("at", event.at, Time{});
  writer("from", event.from, Name{});
  writer.maybe("seq", event.seq, Whole{});
  writer.maybe("received", event.received, Time{});
  std::visit([&](const auto& body) { describe(writer, body); }, event.body);
  for (const auto& [name, value] : event.unknown.items()) json[name] = value;
  return json;
}

std::string to_line(const Event& event) {
  return to_json(event).dump();
}

bool same_content(const Event& a, const Event& b) {
  const auto sent = [](Json members) {
    members.erase("clock_off");
    return members;
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
  // Boost's reader also takes braces and bare hexadecimal, and was a tenth of the reading of a log;
  // RFC 9562 text is 8-4-4-4-12 and nothing else.
  constexpr std::string_view kShape = "hhhhhhhh-hhhh-hhhh-hhhh-hhhhhhhhhhhh";
  const auto digit = [](char c) {
    return c >= '0' && c <= '9'   ? c - '0'
           : c >= 'a' && c <= 'f' ? c - 'a' + 10
           : c >= 'A' && c <= 'F' ? c - 'A' + 10
                                  : -1;
  };
  Uuid id{};
  bool fits = text.size() == kShape.size();
  for (std::size_t i = 0, digits = 0; fits && i < kShape.size(); ++i) {
    if (kShape[i] == '-') {
      fits = text[i] == '-';
      continue;
    }
    const int value = digit(text[i]);
    fits = value >= 0;
    std::uint8_t& byte = id.data[digits++ / 2];
    byte = static_cast<std::uint8_t>(byte << 4 | (value & 0xF));
  }
  if (!fits) return fault("", "not a UUID like 6f0c7d1e-5b0a-4c57-9a58-0d4f3f1f2a10");
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
