#pragma once

// One description of each type's members, walked by the reader and by the writer, so the two cannot
// come apart. `v(name, member, form)` is a member that must be there; `v.maybe(name, member, form)`
// one that may be left out: an optional, or a member that then keeps its default (`v.sparse` also
// leaves it out when writing the default).

#include <limits>
#include <type_traits>

#include "protocol/event.hpp"

namespace stonecall::protocol {

struct Name {};  ///< text of 1–80 bytes
struct Text {};  ///< text up to 8 KiB
struct Number {  ///< finite, within [min, max]
  double min = std::numeric_limits<double>::lowest();
  double max = std::numeric_limits<double>::max();
};
struct Whole {
  std::int64_t min = 0;
  std::int64_t max = 1'000'000'000;
};
struct Flag {};
struct Time {};
struct Id {};
struct Choice {};  ///< one of an enumeration's words
struct Object {};  ///< a type described here
struct Raw {};     ///< any object, kept as it is
template <class Each>
struct ListOf {
  Each each{};
  std::size_t max = 1000;
};

template <class T, class U>
concept Of = std::same_as<std::remove_const_t<T>, U>;

constexpr Number kPercent{0, 100};
constexpr Number kDegrees{0, 360};

template <class V, Of<Position> T>
void describe(V& v, T& x) {
  v("latitude", x.latitude, Number{-90, 90});
  v("longitude", x.longitude, Number{-180, 180});
  v.maybe("height_metres", x.height_metres, Number{-12'000, 12'000});
}

template <class V, Of<PercentRange> T>
void describe(V& v, T& x) {
  v("low", x.low, kPercent);
  v("high", x.high, kPercent);
}

template <class V, Of<Base> T>
void describe(V& v, T& x) {
  v("station", x.station, Name{});
  describe(v, x.position);
  v.sparse("spoken", x.spoken, ListOf<Name>{});
}

template <class V, Of<ExpectedShare> T>
void describe(V& v, T& x) {
  v("rock", x.rock, Name{});
  v("percent", x.percent, kPercent);
}

template <class V, Of<PlannedStation> T>
void describe(V& v, T& x) {
  v("station", x.station, Name{});
  describe(v, x.position);
  v("allotted_minutes", x.allotted_minutes, Number{0, 1440});
  v.maybe("arrive_minutes", x.arrive_minutes, Number{0, 1440});
  v.sparse("spoken", x.spoken, ListOf<Name>{});
  v.sparse("expected", x.expected, ListOf<Object>{});
  v.maybe("sureness", x.sureness, Number{0, 10'000});
  v.sparse("why", x.why, Text{});
  v.sparse("way", x.way, ListOf<Object>{});
  v.sparse("back", x.back, ListOf<Object>{});
}

template <class V, Of<WantedKind> T>
void describe(V& v, T& x) {
  v("rock", x.rock, Name{});
  v("number", x.number, Whole{1, 1000});
  v.maybe("weight", x.weight, Number{0, 1'000'000});
  v.maybe("repeat", x.repeat, Number{0, 1});
}

template <class V, Of<Documentation> T>
void describe(V& v, T& x) {
  v.maybe("views", x.views, ListOf<Choice>{});
  v.maybe("bag", x.bag, Flag{});
  v.maybe("tie", x.tie, Flag{});
  v.maybe("describes", x.describes, ListOf<Choice>{});
}

template <class V, Of<Walking> T>
void describe(V& v, T& x) {
  v.maybe("speed_kmh", x.speed_kmh, Number{0.1, 20});
  v.maybe("margin_percent", x.margin_percent, Number{0, 1000});
  v.maybe("use_heights", x.use_heights, Flag{});
}

template <class V, Of<Link> T>
void describe(V& v, T& x) {
  v.maybe("delay_seconds", x.delay_seconds, Number{0, 86'400});
  v.maybe("reaction_minutes", x.reaction_minutes, Number{0, 1440});
}

template <class V, Of<Pace> T>
void describe(V& v, T& x) {
  v.maybe("looks_per_minute", x.looks_per_minute, Number{0.001, 1000});
  v.maybe("handling_minutes", x.handling_minutes, Number{0.001, 1440});
  v.maybe("sureness_minutes", x.sureness_minutes, Number{0.001, 100'000});
  v.maybe("sureness_samples", x.sureness_samples, Number{0.001, 100'000});
}

template <class V, Of<Person> T>
void describe(V& v, T& x) {
  v("name", x.name, Name{});
  v("role", x.role, Choice{});
  v.maybe("spread_percent", x.spread_percent, Number{0, 100});
}

template <class V, Of<RockKind> T>
void describe(V& v, T& x) {
  v("rock", x.rock, Name{});
  v.sparse("spoken", x.spoken, ListOf<Name>{});
}

template <class V, Of<Method> T>
void describe(V& v, T& x) {
  v.maybe("prior_each", x.prior_each, Number{0.001, 1000});
  v.maybe("typical_percent", x.typical_percent, kPercent);
  v.maybe("rare_percent", x.rare_percent, kPercent);
  v.maybe("confident", x.confident, Number{0, 1});
  v.maybe("draws", x.draws, Whole{10, 100'000});
  v.maybe("seed", x.seed, Whole{0, 2'147'483'647});
  v.maybe("sun_tolerance_degrees", x.sun_tolerance_degrees, Number{0, 90});
}

template <class V, Of<Plan> T>
void describe(V& v, T& x) {
  v("name", x.name, Name{});
  v.sparse("place", x.place, Text{});
  v.sparse("notes", x.notes, Text{});
  v("start", x.start, Time{});
  v("duration_minutes", x.duration_minutes, Number{1, 1440});
  v("base", x.base, Object{});
  v("stations", x.stations, ListOf<Object>{});
  v.sparse("wanted", x.wanted, ListOf<Object>{});
  v.maybe("new_kind_weight", x.new_kind_weight, Number{0, 1'000'000});
  v.maybe("documentation", x.documentation, Object{});
  v.maybe("walking", x.walking, Object{});
  v.maybe("link", x.link, Object{});
  v.maybe("pace", x.pace, Object{});
  v.sparse("people", x.people, ListOf<Object>{});
  v("vocabulary", x.vocabulary, ListOf<Object>{});
  v.maybe("method", x.method, Object{});
}

template <class V, Of<PlanGiven> T>
void describe(V& v, T& x) {
  v("plan", x.plan, Object{});
}

template <class V, Of<VoiceNote> T>
void describe(V& v, T& x) {
  v("text", x.text, Text{});
  v.maybe("speaker", x.speaker, Name{});
  v.maybe("duration_seconds", x.duration_seconds, Number{0, 86'400});
}

template <class V, Of<Arrival> T>
void describe(V& v, T& x) {
  v("station", x.station, Name{});
}

template <class V, Of<Departure> T>
void describe(V& v, T& x) {
  v.maybe("station", x.station, Name{});
}

template <class V, Of<Tie> T>
void describe(V& v, T& x) {
  v.maybe("to", x.to, Name{});
  v("bearing_degrees", x.bearing_degrees, kDegrees);
  v("distance_metres", x.distance_metres, Number{0, 1'000'000});
}

template <class V, Of<SampleTaken> T>
void describe(V& v, T& x) {
  v.maybe("number", x.number, Name{});
  v.maybe("bag", x.bag, Name{});
  v.maybe("rock", x.rock, Name{});
  v.maybe("station", x.station, Name{});
  v.maybe("place", x.place, Object{});
  v.maybe("tie", x.tie, Object{});
  v.maybe("size_mm", x.size_mm, Number{0, 1'000'000});
  v.maybe("buried", x.buried, Object{});
  v.maybe("picked", x.picked, Text{});
  v.maybe("relation", x.relation, Text{});
  v.maybe("like_it", x.like_it, Object{});
  v.maybe("description", x.description, Text{});
  v.maybe("shape", x.shape, Text{});
  v.maybe("colour", x.colour, Text{});
  v.maybe("texture", x.texture, Text{});
  v.maybe("unselective", x.unselective, Flag{});
}

template <class V, Of<Photo> T>
void describe(V& v, T& x) {
  v.maybe("sample", x.sample, Name{});
  v("view", x.view, Choice{});
  v.maybe("direction_degrees", x.direction_degrees, kDegrees);
}

template <class V, Of<Sighting> T>
void describe(V& v, T& x) {
  v("rock", x.rock, Name{});
  v("present", x.present, Flag{});
  v.maybe("station", x.station, Name{});
}

template <class V, Of<RockCount> T>
void describe(V& v, T& x) {
  v("rock", x.rock, Name{});
  v("count", x.count, Whole{0, 100'000});
}

template <class V, Of<Tally> T>
void describe(V& v, T& x) {
  v("counts", x.counts, ListOf<Object>{});
  v("total", x.total, Whole{0, 1'000'000});
  v.maybe("station", x.station, Name{});
}

template <class V, Of<Share> T>
void describe(V& v, T& x) {
  v("rock", x.rock, Name{});
  v("percent", x.percent, Object{});
  v.maybe("best_percent", x.best_percent, kPercent);
  v.maybe("station", x.station, Name{});
  v.maybe("caller", x.caller, Name{});
}

template <class V, Of<Question> T>
void describe(V& v, T& x) {
  v("text", x.text, Text{});
  v.maybe("to", x.to, Choice{});
  v.maybe("sample", x.sample, Name{});
  v.maybe("rock", x.rock, Name{});
}

template <class V, Of<Amend> T>
void describe(V& v, T& x) {
  v("target", x.target, Id{});
  v("changes", x.changes, Raw{});
  v.maybe("why", x.why, Text{});
}

template <class V, Of<Words> T>
void describe(V& v, T& x) {
  v("begin", x.begin, Whole{0, Limits::text_bytes});
  v("end", x.end, Whole{0, Limits::text_bytes});
}

template <class V, Of<Reading> T>
void describe(V& v, T& x) {
  v("note", x.note, Id{});
  v("outcome", x.outcome, Choice{});
  v("fact", x.fact, Object{});
  v.maybe("words", x.words, Object{});
  v.maybe("by_itself", x.by_itself, Flag{});
}

template <class V, Of<Call> T>
void describe(V& v, T& x) {
  v("text", x.text, Text{});
  v.maybe("says", x.says, Choice{});
  v.maybe("until", x.until, Time{});
  v.maybe("station", x.station, Name{});
  v.maybe("rock", x.rock, Name{});
  v.maybe("sample", x.sample, Name{});
  v.maybe("useful_until", x.useful_until, Time{});
  v.maybe("chance", x.chance, Number{0, 1});
  v.maybe("outcome", x.outcome, Text{});
  v.maybe("advised", x.advised, Flag{});
}

template <class V, Of<CallAnswer> T>
void describe(V& v, T& x) {
  v("call", x.call, Id{});
  v("answer", x.answer, Choice{});
  v.maybe("text", x.text, Text{});
}

template <class V, Of<Answer> T>
void describe(V& v, T& x) {
  v("question", x.question, Id{});
  v("text", x.text, Text{});
}

template <class V, Of<Remark> T>
void describe(V& v, T& x) {
  v("text", x.text, Text{});
  v.maybe("about", x.about, Id{});
  v.maybe("pin", x.pin, Flag{});
  v.maybe("paused_seconds", x.paused_seconds, Number{0, 10'000'000});
}

template <class V, Of<Retract> T>
void describe(V& v, T& x) {
  v("target", x.target, Id{});
  v.maybe("why", x.why, Text{});
}

template <class V, Of<Damaged> T>
void describe(V& v, T& x) {
  v.maybe("left", x.left, Text{});
}

template <class V, Of<NotUnderstood> T>
void describe(V&, T&) {}

}  // namespace stonecall::protocol
