#include "console/desk/heard.hpp"

#include <algorithm>
#include <cmath>
#include <utility>

#include <GLFW/glfw3.h>
#include <fmt/format.h>

#include "console/desk/fact_text.hpp"
#include "console/desk/line_sheet.hpp"
#include "console/desk/plan_sheet.hpp"

namespace stonecall::desk {
namespace {

using picture::HeardLine;
using picture::Picture;
using protocol::EventPtr;
using protocol::Outcome;
using protocol::Uuid;
using Show = HeardFilter::Show;

constexpr Font said{Type::text};
constexpr Font small{Type::fine};
constexpr Font speaker_font{Type::fine, Weight::medium};

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

Show show_of(const protocol::Event& event) {
  return std::visit(ShowOf{}, event.body);
}

bool counts(const picture::ReadingMade& made) {
  return !made.retracted && made.reading.outcome != Outcome::declined;
}

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

/// Was it said at this station, or of it?
bool is_of(const std::string& station, const HeardLine& line, const Picture& picture) {
  if (std::visit(PlaceOf{}, line.event->body) == station) return true;
  for (const picture::ReadingMade& made : line.readings)
    if (counts(made) && std::visit(PlaceOf{}, made.reading.fact) == station) return true;
  const protocol::Instant at = line.event->at.instant;
  const picture::Visit* visit = picture::last_visit(picture, at);
  return visit && visit->station == station && (!visit->left || at <= *visit->left);
}

char lower(char c) {
  return c >= 'A' && c <= 'Z' ? static_cast<char>(c - 'A' + 'a') : c;
}

std::size_t find_fold(std::string_view in, std::string_view what, std::size_t from = 0) {
  auto hit =
      std::search(in.begin() + static_cast<std::ptrdiff_t>(std::min(from, in.size())), in.end(),
                  what.begin(), what.end(), [](char a, char b) { return lower(a) == lower(b); });
  return hit == in.end() ? std::string_view::npos : static_cast<std::size_t>(hit - in.begin());
}

/// Where the parts of a row stand, from the row's left upper corner.
struct Columns {
  float time = 0, speaker = 0, text = 0, text_width = 0;
  bool stacked = false;  ///< speaker below the time
};

Columns columns_for(const Canvas& canvas, float width) {
  Columns c;
  c.stacked = width < canvas.px(360);
  // The time of day has a digit more.
  const float digit =
      canvas.clock().mode == TimeMode::elapsed ? 0 : canvas.fonts().digit_cell(small);
  c.speaker = c.stacked ? 0 : canvas.px(62) + digit;
  c.text = c.stacked ? canvas.px(66) : canvas.px(128) + digit;
  c.text_width = std::max(canvas.px(80), width - c.text - canvas.px(10));
  return c;
}

struct Chip {
  std::string words;
  bool rust = false;
  bool declined = false;
  const Proposal* proposal = nullptr;
};

/// What was looked up in this picture.
auto& looked_up(const View& view, HeardState& state) {
  if (state.corrections_in != view.picture) {
    state.corrections.clear();
    state.corrections_in = view.picture;
  }
  return state.corrections;
}

/// A fact on a chip; a correction with what it corrects, which is looked up once a picture.
/// `decided`: it was worked in, so what it corrects stands as it came.
std::string chip_words(const View& view, const protocol::Fact& fact, bool decided,
                       const ClockText& clock, HeardState& state) {
  const auto* amend = std::get_if<protocol::Amend>(&fact);
  if (!amend || !view.picture) return chip_text(fact);
  auto [place, fresh] =
      looked_up(view, state)
          .try_emplace({amend->target, fmt::format("{}{}{}", decided, static_cast<int>(clock.mode),
                                                   amend->changes.dump())});
  if (fresh) {
    const EventPtr target = picture::statement(*view.picture, amend->target, decided);
    place->second = correction_text(*amend, target.get(), clock);
  }
  return place->second;
}

std::vector<Chip> chips_of(const View& view, const HeardLine& line, const ClockText& clock,
                           HeardState& state) {
  std::vector<Chip> chips;
  for (const picture::ReadingMade& made : line.readings) {
    if (!counts(made)) continue;
    std::string by_itself = made.reading.by_itself.value_or(false) ? "by itself: " : "";
    std::string words = by_itself + chip_words(view, made.reading.fact, true, clock, state);
    // One correction of several statements was accepted as one, and is shown as one.
    const bool again = std::holds_alternative<protocol::Amend>(made.reading.fact) &&
                       std::ranges::find(chips, words, &Chip::words) != chips.end();
    if (!again) chips.push_back({std::move(words)});
  }
  for (const Proposal* proposal : undecided(view, line))
    chips.push_back({chip_words(view, proposal->fact, false, clock, state), true, false, proposal});
  return chips;
}

/// Bytes of the note's text that were understood; `sure`: a person accepted it.
struct Understood {
  std::size_t begin = 0, end = 0;
  bool sure = true;
};

std::vector<Understood> understood(const View& view, const HeardLine& line, std::size_t size) {
  std::vector<Understood> out;
  auto add = [&](const protocol::Words& words, bool sure) {
    std::size_t end = std::min<std::size_t>(words.end, size);
    if (words.begin < end) out.push_back({words.begin, end, sure});
  };
  for (const picture::ReadingMade& made : line.readings)
    if (counts(made) && made.reading.words) add(*made.reading.words, true);
  for (const Proposal* proposal : undecided(view, line)) add(proposal->words, false);
  return out;
}

constexpr std::string_view decide_hint = "Enter accept    a accept all    e edit    d decline";
constexpr std::string_view decide_in_brief = "Enter accept  a all  e edit  d decline";

/// What a line says; of a later plan what it changed.
std::string words_of(const HeardLine& line) {
  const auto* given = std::get_if<protocol::PlanGiven>(&line.event->body);
  return given ? plan_line_text(*given, line.replaced) : line_text(*line.event);
}

/// The first words of a call or a question, to be named by.
std::string first_words(std::string_view text) {
  constexpr std::size_t most = 32;  // bytes
  if (text.size() <= most) return std::string(text);
  std::size_t end = text.rfind(' ', most);
  if (end == std::string_view::npos || end == 0) {
    end = most;
    while (end > 0 && (static_cast<unsigned char>(text[end]) & 0xC0) == 0x80) --end;
  }
  while (end > 0 && (text[end - 1] == ',' || text[end - 1] == ';' || text[end - 1] == ':')) --end;
  return std::string(text.substr(0, end)) + "…";
}

/// What a call or an answer is, and to what: between voice notes its words alone do not say.
struct Exchange {
  const Picture& picture;
  const ClockText& clock;

  template <class Made>
  static const Made* find(const picture::SharedList<Made>& all, const Uuid& id) {
    // Most answers come soon.
    for (std::size_t i = all.size(); i-- > 0;)
      if (all[i].origin.id == id) return &all[i];
    return nullptr;
  }
  std::string operator()(const protocol::Call& call) const {
    return (protocol::only_states_a_chance(call) ? "Chance stated: " : "Call: ") +
           call_text(call, clock);
  }
  std::string operator()(const protocol::CallAnswer& answer) const {
    const auto* made = find(picture.calls, answer.call);
    if (!made) return {};
    const std::string_view done = answer.answer == protocol::Answered::heard    ? "Heard"
                                  : answer.answer == protocol::Answered::acting ? "Acting on"
                                                                                : "Declined";
    return fmt::format("{} the call “{}”{}", done, first_words(made->call.text),
                       answer.text ? ": " + *answer.text : std::string("."));
  }
  std::string operator()(const protocol::Question& question) const {
    return "Question: " + question.text;
  }
  std::string operator()(const protocol::Answer& answer) const {
    const auto* asked = find(picture.questions, answer.question);
    return asked ? fmt::format("To “{}”: {}", first_words(asked->question.text), answer.text)
                 : "Answer: " + answer.text;
  }
  template <class Other>
  std::string operator()(const Other&) const {
    return {};
  }
};

/// What was taken back, by its first words; why.
std::string retraction_words(const View& view, const protocol::Retract& retract,
                             HeardState& state) {
  auto [place, fresh] = looked_up(view, state).try_emplace({retract.target, "taken back"});
  if (fresh)
    if (const EventPtr target = picture::statement(*view.picture, retract.target, false)) {
      const auto* reading = std::get_if<protocol::Reading>(&target->body);
      place->second = first_words(reading ? chip_text(reading->fact) : line_text(*target));
    }
  const std::string why = retract.why ? ": " + *retract.why : std::string();
  return place->second.empty() ? "Taken back" + (why.empty() ? "." : why)
                               : "Took back “" + place->second + "”" + (why.empty() ? "." : why);
}

/// The same as it is shown: moments by the clock, of an amendment what stood there before, of a
/// retraction what it took back, of an answer what it is to.
std::string words_of(const View& view, const HeardLine& line, const ClockText& clock,
                     HeardState& state) {
  if (const auto* amend = std::get_if<protocol::Amend>(&line.event->body)) {
    const std::string text = "Amended: " + chip_words(view, *amend, true, clock, state);
    return amend->why ? text + " (" + *amend->why + ")" : text;
  }
  if (const auto* retract = std::get_if<protocol::Retract>(&line.event->body);
      retract && view.picture)
    return retraction_words(view, *retract, state);
  std::string said =
      view.picture ? std::visit(Exchange{*view.picture, clock}, line.event->body) : std::string();
  return said.empty() ? words_of(line) : said;
}

/// A row as laid out: the same code measures and draws.
struct RowShape {
  std::string text;
  std::vector<WrappedLine> lines;
  std::vector<Chip> chips;
  std::vector<Rect> chip_places;  ///< from the row's left upper corner
  float hint_baseline = 0;        ///< 0: none
  std::string aside;              ///< behind the last word, or below where it has no room there
  ImVec2 aside_at;                ///< its baseline, from the text's left upper corner
  std::vector<std::string> past;  ///< what was done to it, a line each
  float past_top = 0;
  float height = 0;
};

/// The whole text, broken into lines of this width.
std::string in_lines(const Fonts& fonts, const std::string& text, float width) {
  std::string out;
  for (auto [begin, end] : wrap(fonts, small, text, width))
    out += (out.empty() ? "" : "\n") + text.substr(begin, end - begin);
  return out;
}

RowShape shape_row(const View& view, const HeardLine& line, const Columns& columns,
                   const Canvas& canvas, bool chosen, HeardState& state) {
  RowShape s;
  s.text = words_of(view, line, canvas.clock(), state);
  s.lines = wrap(canvas.fonts(), said, s.text, columns.text_width);
  s.chips = chips_of(view, line, canvas.clock(), state);
  float y =
      canvas.px(6) + canvas.fonts().line_height(said.type) * static_cast<float>(s.lines.size());
  s.aside = line_aside(view, line);
  if (!s.aside.empty()) {
    const float high = canvas.fonts().line_height(said.type);
    const auto [begin, end] = s.lines.empty() ? WrappedLine{} : s.lines.back();
    float x = canvas.fonts().width(said, std::string_view(s.text).substr(begin, end - begin)) +
              canvas.px(8);
    if (x + canvas.fonts().width(small, s.aside) > columns.text_width) {
      x = 0;
      y += high;
    }
    s.aside_at = {x, y - high + std::round((high + canvas.fonts().cap_height(said.type)) / 2)};
  }
  if (!s.chips.empty()) {
    y += canvas.px(3);
    float x = columns.text, gap = canvas.px(6);
    float right = columns.text + columns.text_width;
    float lowest = y;
    bool undecided_any = false;
    for (Chip& chip : s.chips) {
      undecided_any |= chip.proposal != nullptr;
      const float room = columns.text_width - canvas.px(18);
      // Nobody is to accept what they cannot read.
      if (chosen && chip.proposal)
        chip.words = in_lines(canvas.fonts(), chip.words, room);
      else
        chip.words = ellipsis(canvas.fonts(), small, chip.words, room);
      Rect r = canvas.chip_size({x, y}, chip.words);
      if (x > columns.text && r.right() > right) {
        x = columns.text;
        y = lowest + gap;
        r = canvas.chip_size({x, y}, chip.words);
      }
      s.chip_places.push_back(r);
      x = r.right() + gap;
      lowest = std::max(lowest, r.bottom());
    }
    y = lowest;
    if (chosen && undecided_any) {
      y += canvas.px(5) + canvas.fonts().line_height(small.type);
      s.hint_baseline = y - canvas.px(5);
    }
  }
  if (chosen && !state.past.empty()) {
    s.past_top = y + canvas.px(4);
    for (const picture::Alteration& each : state.past) {
      std::string text = alteration_text(each, canvas.clock());
      for (auto [begin, end] : wrap(canvas.fonts(), small, text, columns.text_width))
        s.past.push_back(text.substr(begin, end - begin));
    }
    y = s.past_top + canvas.fonts().line_height(small.type) * static_cast<float>(s.past.size());
  }
  if (columns.stacked)
    y = std::max(y, canvas.px(6) + canvas.fonts().line_height(said.type) +
                        canvas.fonts().line_height(small.type));
  s.height = y + canvas.px(7);
  return s;
}

/// Good enough for a row nobody looks at; measured as soon as it comes into sight.
double estimate(const HeardLine& line, float text_width, const Fonts& fonts) {
  double letter = fonts.em(said.type) * 0.5;
  const auto* note = std::get_if<protocol::VoiceNote>(&line.event->body);
  double bytes = note ? static_cast<double>(note->text.size()) : 40;
  double lines = std::max(1.0, std::ceil(bytes * letter / static_cast<double>(text_width)));
  double chips = std::ceil(static_cast<double>(line.readings.size()) * 150 *
                           static_cast<double>(fonts.scale()) / static_cast<double>(text_width));
  return lines * static_cast<double>(fonts.line_height(said.type)) +
         static_cast<double>(fonts.scale()) * (13 + chips * 28);
}

/// Of a row that reaches out of the list only whole lines are drawn: half letters say nothing.
void draw_row(const View& view, const HeardLine& line, const RowShape& shape,
              const Columns& columns, ImVec2 at, const Rect& list, const HeardState& state,
              bool chosen, Canvas& canvas) {
  float lh = canvas.fonts().line_height(said.type);
  const auto whole = [&](float on_baseline, Type type) {
    return on_baseline - canvas.fonts().cap_height(type) >= list.y &&
           on_baseline + canvas.px(4) <= list.bottom();
  };
  if (chosen) {
    Rect behind{at.x - canvas.px(8), at.y, columns.text + columns.text_width + canvas.px(14),
                shape.height};
    canvas.fill(behind, Ink::chosen, canvas.px(3));
  }
  float baseline =
      at.y + canvas.px(6) + std::round((lh + canvas.fonts().cap_height(said.type)) / 2);
  // When and who stands beside the first line of it that is in sight.
  const auto first_whole = std::ranges::find_if(shape.lines, [&](const WrappedLine& each) {
    return whole(baseline + lh * static_cast<float>(&each - shape.lines.data()), said.type);
  });
  if (first_whole != shape.lines.end()) {
    const float beside = baseline + lh * static_cast<float>(first_whole - shape.lines.begin());
    canvas.figures({at.x, beside}, small, Ink::soft,
                   canvas.clock().seconds(line.event->at.instant));
    const std::string& speaker = speaker_of(*line.event);
    const bool field = view.picture && picture::is_word_of_field(*view.picture, *line.event);
    const float room = columns.stacked ? columns.text - canvas.px(6)
                                       : columns.text - columns.speaker - canvas.px(8);
    const ImVec2 speaker_at{
        at.x + columns.speaker,
        columns.stacked ? beside + canvas.fonts().line_height(small.type) : beside};
    if (whole(speaker_at.y, Type::fine) && speaker_at.y < at.y + shape.height)
      canvas.text(speaker_at, {Type::fine, field ? Weight::medium : Weight::semibold},
                  field ? Ink::ink : Ink::link,
                  ellipsis(canvas.fonts(), speaker_font, speaker, room));
  }

  // What people said is in ink; what was only entered stands back.
  bool spoken = std::holds_alternative<protocol::VoiceNote>(line.event->body) ||
                show_of(*line.event) == Show::calls;
  Ink ink = line.retracted || !spoken ? Ink::soft : Ink::ink;
  auto marks = understood(view, line, shape.text.size());
  float x0 = at.x + columns.text;
  std::string_view text = shape.text;
  auto span = [&](const WrappedLine& l, std::size_t begin, std::size_t end, auto&& draw) {
    begin = std::max(begin, l.begin);
    end = std::min(end, l.end);
    if (begin >= end) return;
    float from = x0 + canvas.fonts().width(said, text.substr(l.begin, begin - l.begin));
    float to = x0 + canvas.fonts().width(said, text.substr(l.begin, end - l.begin));
    draw(from, to);
  };
  for (const WrappedLine& l : shape.lines) {
    if (!whole(baseline, said.type)) {
      baseline += lh;
      continue;
    }
    if (const std::string& search = state.filter.search; !search.empty())
      for (std::size_t hit = find_fold(text, search); hit != std::string_view::npos;
           hit = find_fold(text, search, hit + search.size()))
        span(l, hit, hit + search.size(), [&](float from, float to) {
          canvas.fill({from - 1, baseline - canvas.px(13), to - from + 2, canvas.px(18)},
                      Ink::rust_soft, canvas.px(2));
        });
    canvas.text({x0, baseline}, said, ink, text.substr(l.begin, l.end - l.begin));
    for (const Understood& m : marks)
      span(l, m.begin, m.end, [&](float from, float to) {
        canvas.rule(from, to, baseline + canvas.px(3), m.sure ? Ink::ink : Ink::rust);
      });
    if (line.retracted)
      span(l, l.begin, l.end, [&](float from, float to) {
        canvas.rule(from, to, baseline - canvas.px(4), Ink::soft);
      });
    baseline += lh;
  }
  if (!shape.aside.empty() && whole(at.y + shape.aside_at.y, small.type))
    canvas.text({x0 + shape.aside_at.x, at.y + shape.aside_at.y}, small,
                shape.aside == "amended" ? Ink::soft : Ink::rust, shape.aside);
  std::size_t nth = 0;
  for (std::size_t i = 0; i < shape.chips.size(); ++i) {
    const Chip& chip = shape.chips[i];
    Rect r = shape.chip_places[i];
    const bool in_sight = at.y + r.y >= list.y - 1 && at.y + r.bottom() <= list.bottom() + 1;
    const Rect drawn = in_sight ? canvas.chip({at.x + r.x, at.y + r.y}, chip.words, chip.rust) : r;
    if (chip.proposal) {
      if (chosen && nth == state.picked && in_sight)
        canvas.outline(drawn.inset(-canvas.px(2), -canvas.px(2)), Ink::rust, canvas.px(13));
      ++nth;
    }
  }
  float past = at.y + shape.past_top;
  for (const std::string& each : shape.past) {
    past += canvas.fonts().line_height(small.type);
    if (whole(past - canvas.px(4), small.type))
      canvas.text({x0, past - canvas.px(4)}, small, Ink::soft, each);
  }
  if (shape.hint_baseline > 0 && whole(at.y + shape.hint_baseline, small.type))
    canvas.text({x0, at.y + shape.hint_baseline}, small, Ink::soft,
                canvas.fonts().width(small, decide_hint) <= columns.text_width
                    ? decide_hint
                    : ellipsis(canvas.fonts(), small, decide_in_brief, columns.text_width));
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
  std::vector<std::string> names;
  for (const HeardLine& line : picture.heard) {
    const std::string& name = speaker_of(*line.event);
    if (std::find(names.begin(), names.end(), name) == names.end()) names.push_back(name);
    if (names.size() >= 32) break;
  }
  std::sort(names.begin(), names.end());
  auto it = std::upper_bound(names.begin(), names.end(), filter.speaker);
  filter.speaker = it == names.end() ? std::string() : *it;
}

/// What is filtered, as words to press at the right end of the heading; the id of the one pressed.
/// Where there is no room for all, what filters nothing gives way.
std::string draw_filter(const HeardState& state, Canvas& canvas) {
  struct Word {
    std::string_view id;
    std::string words;
    bool on;
  };
  const HeardFilter& filter = state.filter;
  auto any_or = [](const std::string& value, const char* all) {
    return value.empty() ? std::string(all) : value;
  };
  std::vector<Word> words{
      {"search", "search", state.searching || !filter.search.empty()},
      {"kind", std::string(words_of(filter.show)), filter.show != Show::all},
      {"speaker", any_or(filter.speaker, "all speakers"), !filter.speaker.empty()},
      {"station", any_or(filter.station, "all stations"), !filter.station.empty()}};
  const Rect& area = canvas.area();
  const Fonts& f = canvas.fonts();
  const float gap = canvas.px(16);
  const float room =
      area.w - f.width({Type::title, Weight::semibold}, "Heard") - gap - canvas.beside_name();
  auto font = [](const Word& word) {
    return Font{Type::fine, word.on ? Weight::semibold : Weight::regular};
  };
  auto total = [&] {
    float w = 0;
    for (const Word& word : words) w += f.width(font(word), word.words) + gap;
    return w - gap;
  };
  for (std::string_view id : {"station", "speaker", "kind"})
    if (total() > room)
      std::erase_if(words, [&](const Word& word) { return word.id == id && !word.on; });
  if (total() > room)
    for (Word& word : words)
      word.words =
          ellipsis(f, font(word), word.words, room / static_cast<float>(words.size()) - gap);
  const float baseline = area.y + canvas.px(6) + f.cap_height(Type::title);
  float x = area.right();
  std::string pressed;
  for (const Word& word : words) {
    const float w = f.width(font(word), word.words);
    x -= w;
    canvas.text({x, baseline}, font(word), word.on ? Ink::ink : Ink::soft, word.words);
    if (canvas.press(word.id,
                     {x - canvas.px(4), baseline - canvas.px(14), w + canvas.px(8), canvas.px(20)}))
      pressed = word.id;
    x -= gap;
  }
  return pressed;
}

/// The stations in the order in which the party came to them.
void next_station(const Picture& picture, HeardFilter& filter) {
  std::vector<std::string> names;
  for (const picture::Visit& visit : picture.visits)
    if (std::ranges::find(names, visit.station) == names.end()) names.push_back(visit.station);
  auto it = std::ranges::find(names, filter.station);
  it = filter.station.empty() || it == names.end() ? names.begin() : it + 1;
  filter.station = it == names.end() ? std::string() : *it;
}

}  // namespace

std::vector<const Proposal*> undecided(const View& view, const HeardLine& line) {
  std::vector<const Proposal*> out;
  if (!view.proposals || line.retracted) return out;
  auto found = view.proposals->find(line.event->id);
  if (!found) return out;
  for (const Proposal& proposal : *found) {
    bool decided = std::any_of(
        line.readings.begin(), line.readings.end(), [&](const picture::ReadingMade& made) {
          if (made.retracted) return false;
          if (made.reading.fact == proposal.fact) return true;
          // Whoever read these words has read all of them.
          return made.reading.words && made.reading.words->begin < proposal.words.end &&
                 proposal.words.begin < made.reading.words->end;
        });
    if (!decided) out.push_back(&proposal);
  }
  return out;
}

std::string line_aside(const View& view, const HeardLine& line) {
  std::string aside = line.amended && !line.retracted ? "amended" : "";
  const bool waits = view.mode != Mode::replay && !line.event->seq &&
                     view.link.kind != LinkState::Kind::none &&
                     view.link.kind != LinkState::Kind::connected;
  if (waits) aside += aside.empty() ? "waits to go out" : ", waits to go out";
  return aside;
}

void decide(const Uuid& note, const Proposal& proposal, Outcome outcome, Commands& out,
            std::optional<bool> by_itself) {
  const auto post = [&](const protocol::Fact& fact) {
    out.push_back(
        ask::Post{protocol::Reading{note, outcome, fact, proposal.words, by_itself}, std::nullopt});
  };
  post(proposal.fact);
  for (const protocol::Fact& each : proposal.also) post(each);
  if (const auto* amend = std::get_if<protocol::Amend>(&proposal.fact))
    for (const Uuid& target : proposal.also_amends)
      post(protocol::Amend{target, amend->changes, amend->why});
}

bool passes(const HeardFilter& filter, const HeardLine& line, const Picture& picture) {
  if (filter.show != Show::all && show_of(*line.event) != filter.show &&
      std::ranges::none_of(line.readings, [&](const picture::ReadingMade& made) {
        return counts(made) && std::visit(ShowOf{}, made.reading.fact) == filter.show;
      }))
    return false;
  if (!filter.speaker.empty() && speaker_of(*line.event) != filter.speaker) return false;
  if (!filter.station.empty() && !is_of(filter.station, line, picture)) return false;
  if (filter.search.empty()) return true;
  if (const auto* note = std::get_if<protocol::VoiceNote>(&line.event->body))
    return find_fold(note->text, filter.search) != std::string_view::npos;
  return find_fold(words_of(line), filter.search) != std::string_view::npos;
}

void HeardRows::follow(const picture::PicturePtr& picture, const HeardFilter& filter,
                       float text_width, const Fonts& fonts) {
  bool same_rows = filter == filter_ && text_width == width_ && fonts.scale() == scale_;
  if (same_rows && picture == picture_) return;
  std::size_t keep = 0;
  // Where the party was when a line was said may be put right later.
  const bool same_places =
      filter.station.empty() || (picture_ && picture && picture_->visits == picture->visits);
  if (same_rows && same_places && picture_ && picture) {
    const auto& before = picture_->heard;
    const auto& now = picture->heard;
    std::size_t least = std::min(before.size(), now.size());
    auto unchanged = [](const HeardLine& a, const HeardLine& b) {
      return a.event == b.event && a.amended == b.amended && a.retracted == b.retracted &&
             std::ranges::equal(a.readings, b.readings, {}, &picture::ReadingMade::retracted,
                                &picture::ReadingMade::retracted);
    };
    while (keep < least && unchanged(before[keep], now[keep])) ++keep;
  }
  filter_ = filter;
  width_ = text_width;
  scale_ = fonts.scale();
  picture_ = picture;
  auto first_gone = std::lower_bound(rows_.begin(), rows_.end(), keep);
  rows_.erase(first_gone, rows_.end());
  heights_.resize_down(rows_.size());
  if (!picture) return;
  for (std::size_t i = keep; i < picture->heard.size(); ++i) {
    const HeardLine& line = picture->heard[i];
    if (!passes(filter, line, *picture)) continue;
    rows_.push_back(static_cast<std::uint32_t>(i));
    heights_.push_back(estimate(line, text_width, fonts));
  }
}

std::optional<std::size_t> HeardRows::row_of(std::uint32_t line) const {
  auto found = std::lower_bound(rows_.begin(), rows_.end(), line);
  if (found == rows_.end() || *found != line) return std::nullopt;
  return static_cast<std::size_t>(found - rows_.begin());
}

std::span<const KeyLine> heard_keys() {
  constexpr auto here = RegionId::heard;
  static const std::vector<KeyLine> lines{
      {"heard.up", "line before", {{GLFW_KEY_UP, 0}}, here},
      {"heard.down", "line after", {{GLFW_KEY_DOWN, 0}}, here},
      {"heard.page_up", "page back", {{GLFW_KEY_PAGE_UP, 0}}, here},
      {"heard.page_down", "page on", {{GLFW_KEY_PAGE_DOWN, 0}}, here},
      {"heard.first", "first line", {{GLFW_KEY_HOME, 0}}, here},
      {"heard.follow", "follow what comes in", {{GLFW_KEY_END, 0}}, here},
      {"heard.chip_left", "proposal before", {{GLFW_KEY_LEFT, 0}}, here},
      {"heard.chip_right", "proposal after", {{GLFW_KEY_RIGHT, 0}}, here},
      {"heard.accept", "accept the proposal", {{GLFW_KEY_ENTER, 0}}, here},
      {"heard.accept_all", "accept all of this note", {{GLFW_KEY_A, 0}}, here},
      {"heard.accept_every", "accept all of all notes", {{GLFW_KEY_A, GLFW_MOD_SHIFT}}, here},
      {"heard.next_open", "next line with a proposal to decide", {{GLFW_KEY_N, 0}}, here},
      {"heard.open_before", "such a line before", {{GLFW_KEY_N, GLFW_MOD_SHIFT}}, here},
      {"heard.edit", "edit the proposal", {{GLFW_KEY_E, 0}}, here},
      {"heard.decline", "decline the proposal", {{GLFW_KEY_D, 0}}, here},
      {"heard.pin", "pin the line", {{GLFW_KEY_P, 0}}, here},
      {"heard.amend", "put the line right: its words or its values", {{GLFW_KEY_W, 0}}, here},
      {"heard.open", "values and history of the line and its readings", {{GLFW_KEY_H, 0}}, here},
      {"heard.retract", "take the line back, with a reason", {{GLFW_KEY_X, 0}}, here},
      {"heard.go",
       "move the player here",
       {{GLFW_KEY_G, 0}},
       here,
       false,
       [](const View& v) { return v.mode == Mode::replay; }},
      {"heard.speaker", "next speaker", {{GLFW_KEY_S, 0}}, here},
      {"heard.kind", "next kind of line", {{GLFW_KEY_K, 0}}, here},
      {"heard.station", "next station", {{GLFW_KEY_T, 0}}, here},
      {"heard.search", "search", {{GLFW_KEY_F, 0}}, here},
      {"heard.copy", "copy the line", {{GLFW_KEY_C, GLFW_MOD_CONTROL}}, here},
      {"heard.all", "show all lines again", {{GLFW_KEY_ESCAPE, 0}}, here, true},
  };
  return lines;
}

Commands draw_heard(const View& view, HeardState& state, Canvas& canvas) {
  Commands out;
  const Rect& area = canvas.area();
  float top = canvas.heading("Heard");
  static const Picture nothing;
  const Picture& picture = view.picture ? *view.picture : nothing;

  // Filters stand right in the heading line as words to press.
  {
    if (canvas.asked("heard.search")) state.searching = state.take_keyboard = true;
    if (canvas.asked("heard.kind")) next_kind(state.filter);
    if (canvas.asked("heard.speaker")) next_speaker(picture, state.filter);
    if (canvas.asked("heard.station")) next_station(picture, state.filter);
    const std::string pressed = draw_filter(state, canvas);
    if (pressed == "search") state.searching = state.take_keyboard = true;
    if (pressed == "kind") next_kind(state.filter);
    if (pressed == "speaker") next_speaker(picture, state.filter);
    if (pressed == "station") next_station(picture, state.filter);
  }
  state.typing = false;
  if (state.searching) {
    Rect line{area.x, top, area.w, canvas.px(28)};
    auto typed = canvas.field(
        "search", {line.x + canvas.px(2), line.y, line.w - canvas.px(4), line.h - canvas.px(4)},
        state.filter.search, "words to look for", said, {.take_keyboard = state.take_keyboard});
    if (typed.active) state.take_keyboard = false;
    state.typing = typed.active;
    canvas.rule(line.x, line.right(), line.bottom() - canvas.px(4), Ink::ink);
    top = line.bottom();
    if (typed.entered) out.push_back(ask::Focus{RegionId::heard});
  }
  if (canvas.asked("heard.all")) {
    state.filter = {};
    state.searching = false;
    Chosen none = canvas.chosen();
    none.event.reset();
    out.push_back(ask::Choose{none});
    out.push_back(ask::Focus{RegionId::heard});
  }

  float footer = canvas.px(26);
  Rect list{area.x, top, area.w,
            std::max(1.0F, area.bottom() - top - (state.following ? 0 : footer))};
  Columns columns = columns_for(canvas, list.w);
  state.rows.follow(view.picture, state.filter, columns.text_width, canvas.fonts());
  Heights& heights = state.rows.heights();
  const std::size_t count = state.rows.size();
  if (count == 0) {
    std::string words = state.filter.any() && !picture.heard.empty()
                            ? "No line passes " + filter_words(state.filter) + ". Esc shows all."
                            : std::string("Nothing heard yet.");
    canvas.paragraph({list.x, list.y + canvas.px(24)}, said, Ink::soft, words, list.w);
    state.following = true;
    return out;
  }

  auto line_at = [&](std::size_t row) -> const HeardLine& {
    return picture.heard[state.rows.line(row)];
  };
  auto is_chosen = [&](std::size_t row) {
    return canvas.chosen().event && *canvas.chosen().event == line_at(row).event->id;
  };
  if (state.past_of != canvas.chosen().event || state.past_in != view.picture) {
    state.past_of = canvas.chosen().event;
    state.past_in = view.picture;
    state.past.clear();
    if (view.picture && state.past_of) state.past = picture::alterations(picture, *state.past_of);
  }
  auto measured = [&](std::size_t row) {
    RowShape shape = shape_row(view, line_at(row), columns, canvas, is_chosen(row), state);
    heights.set(row, static_cast<double>(shape.height));
    return shape;
  };
  auto row_of_event = [&](const Uuid& id, std::size_t& last_known) -> std::optional<std::size_t> {
    if (last_known < count && line_at(last_known).event->id == id) return last_known;
    for (std::size_t i = count; i-- > 0;)
      if (line_at(i).event->id == id) return last_known = i;
    return std::nullopt;
  };
  auto choose = [&](std::size_t row) {
    Chosen chosen = canvas.chosen();
    chosen.event = line_at(row).event->id;
    out.push_back(ask::Choose{chosen});
    state.picked = 0;
  };

  // Where the list stands: `scroll` is the height above the list's upper edge.
  double view_high = static_cast<double>(list.h);
  auto measure_end = [&] {
    double shown = 0;
    for (std::size_t row = count; row-- > 0 && shown < view_high;)
      shown += static_cast<double>(measured(row).height);
  };
  double scroll = 0;
  std::optional<std::size_t> anchor_row;
  if (!state.following && state.anchor) {
    anchor_row = row_of_event(*state.anchor, state.anchor_row);
    if (!anchor_row) anchor_row = 0;
    measured(*anchor_row);
    scroll = heights.above(*anchor_row) + static_cast<double>(state.cut);
  } else {
    measure_end();
    scroll = heights.total() - view_high;
  }
  auto move_to = [&](double wanted) {
    double last = heights.total() - view_high;
    if (wanted >= last - 0.5) {
      if (!state.following) state.seen_lines = 0;
      state.following = true;
      measure_end();
      scroll = heights.total() - view_high;
      return;
    }
    if (state.following) state.seen_lines = picture.heard.size();
    state.following = false;
    scroll = std::max(0.0, wanted);
    std::size_t row = heights.row_at(scroll);
    measured(row);
    state.anchor = line_at(row).event->id;
    state.anchor_row = row;
    state.cut =
        static_cast<float>(std::clamp(scroll - heights.above(row), 0.0, heights.height(row)));
    scroll = heights.above(row) + static_cast<double>(state.cut);
  };
  auto bring = [&](std::size_t row) {  // into sight, with the least movement
    measured(row);
    double begin = heights.above(row), end = begin + heights.height(row);
    if (begin < scroll)
      move_to(begin);
    else if (end > scroll + view_high)
      move_to(end - view_high);
  };

  const Pointer& pointer = canvas.pointer();
  bool over = pointer.over && list.contains(pointer.at);
  if (over && pointer.wheel != 0)
    move_to(scroll - static_cast<double>(pointer.wheel * canvas.px(66)));
  if (canvas.asked("heard.page_up")) move_to(scroll - view_high * 0.85);
  if (canvas.asked("heard.page_down")) move_to(scroll + view_high * 0.85);
  if (canvas.asked("heard.first")) move_to(0);
  if (canvas.asked("heard.follow")) move_to(heights.total());

  std::optional<std::size_t> chosen_row;
  if (canvas.chosen().event) chosen_row = row_of_event(*canvas.chosen().event, state.chosen_row);
  // Once chosen a line is higher: it says what can be done to it.
  if (std::exchange(state.bring, false) && chosen_row) bring(*chosen_row);
  if (canvas.asked("heard.up") || canvas.asked("heard.down")) {
    std::size_t row = chosen_row.value_or(count - 1);
    if (chosen_row && canvas.asked("heard.up") && row > 0) --row;
    if (chosen_row && canvas.asked("heard.down") && row + 1 < count) ++row;
    choose(row);
    bring(row);
    state.bring = true;
    chosen_row = row;
  }
  if (canvas.asked("heard.next_open") || canvas.asked("heard.open_before")) {
    const bool on = canvas.asked("heard.next_open");
    // With nothing chosen from what is in sight on: the note just typed, not one of hours ago.
    const std::size_t from_here = heights.row_at(std::max(0.0, scroll));
    std::size_t row = chosen_row.value_or(on ? (from_here + count - 1) % count : from_here);
    for (std::size_t looked = 0; looked < count; ++looked) {
      row = (row + (on ? 1 : count - 1)) % count;
      if (undecided(view, line_at(row)).empty()) continue;
      choose(row);
      bring(row);
      state.bring = true;
      chosen_row = row;
      break;
    }
  }
  if (state.show) {
    if (auto row = row_of_event(*state.show, state.chosen_row))
      move_to(heights.above(*row) - view_high / 3);
    state.show.reset();
  }

  // What is done to the chosen line.
  if (chosen_row) {
    const HeardLine& line = line_at(*chosen_row);
    auto open = undecided(view, line);
    if (!open.empty()) state.picked = std::min(state.picked, open.size() - 1);
    if (canvas.asked("heard.chip_left") && state.picked > 0) --state.picked;
    if (canvas.asked("heard.chip_right") && state.picked + 1 < open.size()) ++state.picked;
    auto decide_it = [&](const Proposal& proposal, Outcome outcome) {
      decide(line.event->id, proposal, outcome, out);
    };
    if (!open.empty()) {
      if (canvas.asked("heard.accept")) decide_it(*open[state.picked], Outcome::accepted);
      if (canvas.asked("heard.decline")) decide_it(*open[state.picked], Outcome::declined);
      if (canvas.asked("heard.accept_all"))
        for (const Proposal* proposal : open) decide_it(*proposal, Outcome::accepted);
      if (canvas.asked("heard.edit"))
        out.push_back(ask::EditReading{line.event->id, *open[state.picked]});
    }
    if (canvas.asked("heard.pin"))
      out.push_back(
          ask::Post{protocol::Remark{line_text(*line.event).substr(0, 200), line.event->id, true},
                    std::nullopt});
    // Words are put right in the entry line, values on a sheet; of calls what was sent stands.
    const auto& body = line.event->body;
    const bool worded = std::holds_alternative<protocol::VoiceNote>(body) ||
                        std::holds_alternative<protocol::Remark>(body);
    if (canvas.asked("heard.amend") && worded)
      out.push_back(ask::AmendText{line.event->id, line_text(*line.event)});
    if ((canvas.asked("heard.amend") && !worded) || canvas.asked("heard.open"))
      out.push_back(ask::OpenLine{line.event->id});
    if (canvas.asked("heard.retract") && !line.retracted)
      out.push_back(ask::OpenLine{line.event->id, true});
    if (canvas.asked("heard.go")) out.push_back(ask::Seek{line.event->at.instant});
    if (canvas.asked("heard.copy"))
      out.push_back(ask::CopyText{fmt::format(
          "{} {}\t{}\t{}", canvas.clock().seconds(line.event->at.instant), canvas.clock().zone(),
          speaker_of(*line.event), words_of(view, line, canvas.clock(), state))});
  }
  if (canvas.asked("heard.accept_every"))
    for (std::size_t row = 0; row < count; ++row)
      for (const Proposal* proposal : undecided(view, line_at(row)))
        decide(line_at(row).event->id, *proposal, Outcome::accepted, out);

  // The rows in sight. A short list hangs from the top.
  canvas.draw().PushClipRect({list.x - canvas.px(8), list.y},
                             {list.right() + canvas.px(8), list.bottom()}, true);
  double from = std::max(0.0, scroll);
  std::size_t row = heights.row_at(from);
  auto y = static_cast<float>(static_cast<double>(list.y) + heights.above(row) - scroll);
  if (scroll < 0) y = list.y;
  for (; row < count && y < list.bottom(); ++row) {
    RowShape shape = measured(row);
    ImVec2 at{list.x, std::round(y)};
    bool chosen = chosen_row && *chosen_row == row;
    draw_row(view, line_at(row), shape, columns, at, list, state, chosen, canvas);
    Rect whole{list.x, at.y, list.w - canvas.px(10), shape.height};
    if (over && pointer.pressed && whole.contains(pointer.at)) {
      choose(row);
      std::size_t nth = 0;
      for (std::size_t i = 0; i < shape.chips.size(); ++i) {
        if (!shape.chips[i].proposal) continue;
        Rect r = shape.chip_places[i];
        r.x += at.x;
        r.y += at.y;
        if (r.contains(pointer.at)) state.picked = nth;
        ++nth;
      }
    }
    y += shape.height;
  }
  canvas.draw().PopClipRect();

  // Where in the whole list: a thin mark at the right.
  double total = std::max(heights.total(), 1.0);
  if (total > view_high) {
    float track = list.h,
          thumb = std::max(canvas.px(24), static_cast<float>(view_high / total) * track);
    float at =
        static_cast<float>(std::clamp(scroll / (total - view_high), 0.0, 1.0)) * (track - thumb);
    Rect bar{list.right() - canvas.px(3), list.y + at, canvas.px(3), thumb};
    Rect grip{list.right() - canvas.px(10), list.y, canvas.px(12), track};
    bool hold = pointer.held && grip.contains({grip.x + 1, pointer.at.y}) &&
                pointer.at.x > grip.x - canvas.px(30);
    canvas.fill(bar, hold ? Ink::ink : Ink::edge, canvas.px(1.5F));
    if ((over && pointer.pressed && grip.contains(pointer.at)) || (hold && pointer.moved.y != 0)) {
      double part =
          static_cast<double>((pointer.at.y - list.y - thumb / 2) / std::max(1.0F, track - thumb));
      if (grip.contains(pointer.at) || pointer.held) move_to(part * (total - view_high));
    }
  }

  if (!state.following) {
    std::size_t added =
        picture.heard.size() > state.seen_lines ? picture.heard.size() - state.seen_lines : 0;
    Rect strip{area.x, area.bottom() - footer + canvas.px(4), area.w, footer - canvas.px(4)};
    canvas.fill(strip, Ink::panel, canvas.px(3));
    float baseline = strip.y + std::round((strip.h + canvas.fonts().cap_height(small.type)) / 2);
    float x = strip.x + canvas.px(8);
    x += canvas.text({x, baseline}, {Type::fine, Weight::semibold}, Ink::ink, "Looking back");
    if (added > 0)
      canvas.text({x + canvas.px(10), baseline}, small, Ink::rust,
                  fmt::format("{} new below", added));
    canvas.text({strip.right() - canvas.px(8), baseline}, small, Ink::soft,
                "End follows what comes in", Align::right);
    if (canvas.press("follow", strip)) move_to(heights.total());
  }
  return out;
}

}  // namespace stonecall::desk
