#include "console/desk/fact_text.hpp"

#include <fmt/format.h>

#include "console/desk/member_text.hpp"

namespace stonecall::desk {
namespace {

using namespace protocol;

std::string joined(std::initializer_list<std::string> parts, std::string_view between = ", ") {
  std::string out;
  for (const std::string& part : parts) {
    if (part.empty()) continue;
    if (!out.empty()) out += between;
    out += part;
  }
  return out;
}

std::string named(std::string_view label, const std::optional<std::string>& value) {
  return value ? fmt::format("{} {}", label, *value) : std::string();
}

struct ChipText {
  std::string operator()(const Arrival& a) const { return "arrival: " + a.station; }
  std::string operator()(const Departure& d) const {
    return d.station ? "departure from " + *d.station : std::string("departure");
  }
  std::string operator()(const SampleTaken& s) const {
    std::string name = joined({named("sample", s.number), named("bag", s.bag)});
    if (name.empty()) name = "sample";
    std::string more = joined(
        {s.rock.value_or(""), s.size_mm ? fmt::format("{:.0f} mm", *s.size_mm) : std::string(),
         s.buried ? "buried " + range_text(*s.buried) : std::string(),
         s.picked ? "picked: " + *s.picked : std::string(),
         s.relation ? *s.relation : std::string(),
         s.like_it ? "like it " + range_text(*s.like_it) : std::string(), s.shape.value_or(""),
         s.colour.value_or(""), s.texture.value_or(""),
         s.tie ? fmt::format("{:.0f} m at {:.0f}°", s.tie->distance_metres, s.tie->bearing_degrees)
               : std::string(),
         s.place ? std::string("placed") : std::string(),
         s.unselective.value_or(false) ? std::string("not chosen") : std::string(),
         s.description.value_or("")});
    return more.empty() ? name : name + ": " + more;
  }
  std::string operator()(const Photo& p) const {
    std::string view(to_string(p.view));
    for (char& c : view)
      if (c == '_') c = ' ';
    return "photograph" + (p.sample ? " of " + *p.sample : std::string()) + ": " + view;
  }
  std::string operator()(const Sighting& s) const {
    return s.present ? "seen: " + s.rock : "not seen so far: " + s.rock;
  }
  std::string operator()(const Tally& t) const {
    std::string counts;
    for (const RockCount& c : t.counts)
      counts += fmt::format("{}{} {}", counts.empty() ? "" : ", ", c.rock, c.count);
    return counts.empty() ? fmt::format("tally of {}", t.total)
                          : fmt::format("tally of {}: {}", t.total, counts);
  }
  std::string operator()(const Share& s) const {
    return "share: " + s.rock + ", " + range_text(s.percent);
  }
  std::string operator()(const Question& q) const { return "question: " + q.text; }
  std::string operator()(const Amend& a) const {
    std::string out;
    for (const auto& [member, value] : a.changes.items())
      out += fmt::format(
          "{}{} becomes {}", out.empty() ? "" : ", ", member_words(member),
          value.is_string() ? value.get<std::string>() : member_text(value, member, {}));
    return out.empty() ? "correction" : out;
  }
};

struct LineText {
  std::string operator()(const PlanGiven& p) const { return "Plan: " + p.plan->name + "."; }
  std::string operator()(const VoiceNote& n) const { return n.text; }
  std::string operator()(const Reading& r) const {
    return fmt::format("Reading {}: {}.", to_string(r.outcome), std::visit(ChipText{}, r.fact));
  }
  std::string operator()(const Call& c) const { return c.text; }
  std::string operator()(const CallAnswer& a) const {
    std::string out = a.answer == Answered::heard    ? "Heard the call"
                      : a.answer == Answered::acting ? "Acting on the call"
                                                     : "Declined the call";
    return a.text ? out + ": " + *a.text : out + ".";
  }
  std::string operator()(const Answer& a) const { return a.text; }
  std::string operator()(const Remark& r) const { return r.text; }
  std::string operator()(const Question& q) const { return q.text; }
  std::string operator()(const Retract& r) const {
    return r.why ? "Taken back: " + *r.why : "Taken back.";
  }
  std::string operator()(const Amend& a) const {
    std::string out = "Amended: " + ChipText{}(a);
    return a.why ? out + " (" + *a.why + ")" : out;
  }
  std::string operator()(const Damaged& d) const {
    return "Lost: the server's disk did not keep this whole. What is left: " +
           d.left.value_or("nothing");
  }
  std::string operator()(const NotUnderstood& n) const {
    return "Not understood: an event of kind “" + n.kind + "”.";
  }
  template <class Fact>
  std::string operator()(const Fact& fact) const {
    std::string out = ChipText{}(fact);
    if (!out.empty() && out[0] >= 'a' && out[0] <= 'z')
      out[0] = static_cast<char>(out[0] - 'a' + 'A');
    return out + ".";
  }
};

}  // namespace

std::string chip_text(const Fact& fact) {
  return std::visit(ChipText{}, fact);
}

std::string line_text(const Event& event) {
  return std::visit(LineText{}, event.body);
}

std::string call_text(const Call& call, const ClockText& clock) {
  const bool elapsed = clock.mode == TimeMode::elapsed || !call.advised.value_or(false);
  return elapsed || !call.until
             ? call.text
             : fmt::format("{} (leave {})", call.text, clock.minutes(call.until->instant));
}

const std::string& speaker_of(const Event& event) {
  const auto* note = std::get_if<VoiceNote>(&event.body);
  return note && note->speaker ? *note->speaker : event.from;
}

std::string range_text(const PercentRange& range) {
  return range.low == range.high ? fmt::format("{:.0f} %", range.low)
                                 : fmt::format("{:.0f}–{:.0f} %", range.low, range.high);
}

}  // namespace stonecall::desk
