#include "console/desk/call.hpp"

#include <algorithm>
#include <array>
#include <cctype>
#include <cmath>
#include <cstdlib>
#include <limits>
#include <ranges>

#include <GLFW/glfw3.h>
#include <fmt/format.h>

#include "console/advise/turn_back.hpp"
#include "console/charts/curves.hpp"
#include "console/charts/ticks.hpp"
#include "console/debrief/chances.hpp"
#include "console/desk/chart_painter.hpp"
#include "console/desk/fact_text.hpp"
#include "console/desk/numbers_age.hpp"
#include "console/picture/gaps.hpp"
#include "console/plates/advice_plate.hpp"
#include "console/plates/sample_text.hpp"

namespace stonecall::desk {
namespace {

using advise::Advice;
using protocol::Says;
using std::chrono::minutes;

// Design pixels.
constexpr float line_pitch = 22;    // of the list
constexpr float least_chart = 104;  // height of a curve that can still be made out
// Below this the older calls make room for the curve, down to the newest two, and further lines of
// all.
constexpr float chart_to_read = 150;
constexpr float chart_at_ease = 190;
constexpr float buttons_high = 30 + 10;
constexpr std::size_t lines_at_ease = 3;  // calls and questions that are to be in sight
constexpr std::size_t least_lines = 2;    // beside a curve that can be read
constexpr float list_foot = 16;           // how many there are besides, what the keys do
constexpr float further_line = 18;        // of a text of the list that does not fit into one
constexpr float below_part = 10, below_chart = 8, above_list = 8, missing_line = 26;

constexpr std::array<std::pair<Says, std::string_view>, 5> kinds_of_call{
    {{Says::stay, "stay"},
     {Says::move_on, "move on"},
     {Says::get, "get"},
     {Says::ask, "ask"},
     {Says::free, "other"}}};

bool may_send(const View& view) {
  return view.mode != Mode::replay && view.picture;
}

/// In practice the recorded party, or the made-up one, answers for itself.
bool may_answer_for_field(const View& view) {
  return view.mode == Mode::live && view.picture;
}

/// A chance is no call: it may be stated in a replay too, where it stands beside the log.
bool may_state(const View& view) {
  return view.picture != nullptr;
}

const Advice* advice_of(const View& view) {
  return view.assessment && view.assessment->advice ? &*view.assessment->advice : nullptr;
}

/// The same words already went out and were not declined.
const picture::CallMade* already_sent(const View& view, const std::string& sentence) {
  if (!view.picture) return nullptr;
  for (auto call = view.picture->calls.rbegin(); call != view.picture->calls.rend(); ++call)
    if (call->call.text == sentence &&
        (call->replies.empty() || call->replies.back().answer != protocol::Answered::declined))
      return &*call;
  return nullptr;
}

protocol::Timestamp stamp(const View& view, protocol::Milliseconds elapsed) {
  protocol::Timestamp t;
  t.instant = picture::start_of(*view.picture) + elapsed;
  if (const auto* plan = view.plan()) t.offset = plan->start.offset;
  return t;
}

std::string aside_of(const View& view, const ClockText& clock) {
  if (!view.assessment) return {};
  std::string late = outdated_words(view, clock);
  return late.empty() ? fmt::format("on {} event{}", view.assessment->events,
                                    view.assessment->events == 1 ? "" : "s")
                      : late;
}

/// What is drawn in the card: the call, its reason, how sure.
struct Card {
  std::string sentence, reason, sureness;
  bool act = false;

  std::string below() const {
    return reason + (reason.empty() || sureness.empty() ? "" : " ") + sureness;
  }
};

Card card_of(const View& view, const ClockText& clock) {
  const Advice* advice = advice_of(view);
  if (!advice) {
    if (!view.picture || view.picture->visits.empty())
      return {"No advice yet.", "The party has not been heard of at a station.", "", false};
    if (!view.plan())
      return {"No advice.", "Without a plan nothing says what is wanted and when to be back.", "",
              false};
    if (view.assessment && !view.assessment->clock.station)
      return {"No advice on the way.",
              "The party is between stations; the weighing begins again at the next.", "", false};
    if (view.assessment && view.assessment->clock.station == view.plan()->base.station) {
      const bool back = std::ranges::any_of(view.picture->visits, [&](const picture::Visit& visit) {
        return visit.station != view.plan()->base.station;
      });
      return {"No advice at the base.",
              back ? "The party is back; the weighing begins again at the next station."
                   : "Stay or move is weighed from the first station on.",
              "", false};
    }
    return {"No advice yet.", "It is being worked out, or there is nothing here to weigh.", "",
            false};
  }
  Card card{clock.told(advice->sentence), clock.told(advice->reason), clock.told(advice->sureness),
            advice->kind != Advice::Kind::no_call};
  if (card.sentence.empty()) card.sentence = "No call: the choice is inside the noise.";
  return card;
}

std::size_t line_count(const Fonts& fonts, Font font, const std::string& s, float width) {
  return s.empty() ? 0 : wrap(fonts, font, s, width).size();
}

/// The reason and how sure begin a line each, unless one runs on behind the other in a line less.
bool runs_on(const Fonts& fonts, const Card& card, float width) {
  constexpr Font font{Type::text};
  return line_count(fonts, font, card.below(), width) <
         line_count(fonts, font, card.reason, width) +
             line_count(fonts, font, card.sureness, width);
}

float card_height(const Canvas& canvas, const Card& card, float width, Type head = Type::title) {
  const Fonts& f = canvas.fonts();
  const auto high = [&](Font font, const std::string& s) {
    return static_cast<float>(line_count(f, font, s, width)) * f.line_height(font.type);
  };
  constexpr Font below{Type::text};
  return high({head, Weight::semibold}, card.sentence) +
         (runs_on(f, card, width) ? high(below, card.below())
                                  : high(below, card.reason) + high(below, card.sureness)) +
         canvas.px(20);
}

/// What is advised at the same moment with all that was known at the end; empty: nothing is.
Card end_card_of(const View& view, const ClockText& clock) {
  const AtTheEnd* end = view.end();
  if (!end) return {};
  Card card{"Known at the end: nothing to advise here.", "", "", false};
  if (!end->here.advice) return card;
  const Advice* then = advice_of(view);
  const Advice& advice = *end->here.advice;
  const bool same = then && then->sentence == advice.sentence;
  card.sentence =
      "Known at the end: " + (same ? std::string("the same call.") : clock.told(advice.sentence));
  card.reason = clock.told(advice.reason);
  if (!advice.depart && end->here.departure && !end->here.departure->late)
    card.sureness = fmt::format(
        "By that the best departure was {}.",
        clock.minutes(view.assessment->now + protocol::from_minutes(end->here.departure->best)));
  return card;
}

/// What is no longer current stands back: no bar, all in soft ink, within a hairline.
void draw_card(Canvas& canvas, const Card& card, Rect box, bool current, Type head = Type::title) {
  if (current) {
    canvas.fill(box, Ink::panel);
    canvas.fill({box.x, box.y, canvas.px(4), box.h}, card.act ? Ink::rust : Ink::edge);
  } else {
    canvas.outline(box, Ink::edge);
  }
  const Fonts& f = canvas.fonts();
  float x = box.x + canvas.px(18), width = box.w - canvas.px(30), y = box.y + canvas.px(10);
  // From `soft_from` on in soft ink.
  auto put = [&](Font font, Ink ink, const std::string& s,
                 std::size_t soft_from = std::string::npos) {
    if (s.empty()) return;
    const float line = f.line_height(font.type);
    const float above = std::round((line + f.cap_height(font.type)) / 2);
    const float bottom = box.bottom() - canvas.px(4);
    auto lines = wrap(f, font, s, width);
    for (std::size_t i = 0; i < lines.size() && y + line <= bottom; ++i) {
      // The last line that has room says that more was there.
      bool last = y + 2 * line > bottom && i + 1 < lines.size();
      std::string_view rest = std::string_view(s).substr(lines[i].begin);
      const std::string drawn = last ? ellipsis(f, font, rest, width)
                                     : std::string(rest.substr(0, lines[i].end - lines[i].begin));
      const std::size_t first =
          std::min(drawn.size(), soft_from - std::min(soft_from, lines[i].begin));
      float at = x;
      if (first > 0) at += canvas.text({at, y + above}, font, ink, drawn.substr(0, first));
      if (first < drawn.size()) canvas.text({at, y + above}, font, Ink::soft, drawn.substr(first));
      y += line;
    }
  };
  Ink ink = current ? Ink::ink : Ink::soft;
  put({head, Weight::semibold}, ink, card.sentence);
  if (runs_on(f, card, width)) {
    const std::string below = card.below();
    put({Type::text}, ink, below, below.size() - card.sureness.size());
  } else {
    put({Type::text}, ink, card.reason);
    put({Type::text}, Ink::soft, card.sureness);
  }
}

/// What only can be done here, sample by sample: "14: after picture; 12: how deep it sat".
std::string before_leaving(const View& view) {
  // On the way it is too late for them.
  if (!view.assessment || !view.assessed || !view.assessment->clock.station) return {};
  std::string text;
  for (const auto& missing : view.assessment->missing) {
    if (missing.sample >= view.assessed->samples.size()) continue;
    std::vector<picture::Gap> here;
    std::copy_if(missing.gaps.begin(), missing.gaps.end(), std::back_inserter(here),
                 picture::only_there);
    if (here.empty()) continue;
    std::string words = plates::gaps_text(here);
    text += (text.empty() ? "" : "; ") +
            plates::sample_name(view.assessed->samples[missing.sample]) + " " + words;
  }
  return text;
}

/// What stands in the region besides the curve, the buttons and the list, and how high: as drawn,
/// and as asked for of the layout. Heights in pixels, with the gap below; 0 where there is nothing.
struct Parts {
  Card card, end;
  std::string missing;
  float card_high = 0, end_high = 0, caution_high = 0, missing_high = 0;
};

Parts parts_of(const View& view, const Canvas& canvas, bool sentence_alone = false) {
  Parts parts;
  const float width = canvas.area().w - canvas.px(30), gap = canvas.px(below_part);
  parts.card = card_of(view, canvas.clock());
  if (sentence_alone) parts.card.reason = parts.card.sureness = std::string();
  parts.card_high = card_height(canvas, parts.card, width) + gap;
  // Beside it, hollow as everything of the end: what knowing all would have advised.
  parts.end = end_card_of(view, canvas.clock());
  if (!parts.end.sentence.empty())
    parts.end_high = card_height(canvas, parts.end, width, Type::text) + gap;
  const Advice* advice = advice_of(view);
  if (advice && advice->kind == Advice::Kind::turn_back)
    parts.caution_high =
        canvas.px(10) + canvas.fonts().line_height(Type::fine) *
                            static_cast<float>(wrap(canvas.fonts(), {Type::fine},
                                                    advise::turn_back_caution, canvas.area().w)
                                                   .size());
  // Where the call itself names what is missing, it is not said twice.
  if (!advice || advice->kind != Advice::Kind::get_first) parts.missing = before_leaving(view);
  if (!parts.missing.empty()) parts.missing_high = canvas.px(missing_line);
  return parts;
}

/// Round times of day between two elapsed minutes, for an axis of this width in design pixels.
std::vector<charts::Tick> ticks_of_day(double first, double last, protocol::Instant start,
                                       const ClockText& clock, double width) {
  constexpr double between = 70;  // as the chart itself sets them
  const auto zone = clock.mode == TimeMode::local ? clock.start.offset : minutes(0);
  const double midnight = protocol::in_minutes(start.time_since_epoch() + zone);
  std::vector<charts::Tick> ticks;
  for (const double m : charts::minute_ticks(first + midnight, last + midnight,
                                             std::max(2, static_cast<int>(width / between))))
    ticks.push_back({m - midnight, clock.minutes(std::chrono::round<std::chrono::seconds>(
                                       start + protocol::from_minutes(m - midnight)))});
  return ticks;
}

/// Of a call that is to be heard and acted on.
CallLife life_of_call(const picture::CallMade& call, const View& view) {
  const picture::Reply* last = nullptr;
  for (const auto& reply : call.replies)
    if (reply.origin.at <= view.now) last = &reply;
  if (last) {
    switch (last->answer) {
      case protocol::Answered::heard:
        break;
      case protocol::Answered::acting:
        return {"acting", false};
      case protocol::Answered::declined:
        return {"declined", true};
    }
  }
  bool late = call.call.useful_until && call.call.useful_until->instant < view.now;
  auto age = view.now - call.origin.at;
  if (last)
    return {late ? "heard, no answer in time"
                 : "heard " + age_text(view.now - last->origin.at) + " ago",
            false};
  if (view.mode != Mode::replay && view.link.kind != LinkState::Kind::connected && !call.received)
    return {"waiting to go out", true};
  if (late) return {"not heard in time", true};
  const protocol::Plan* plan = view.plan();
  auto there_and_back = std::chrono::duration_cast<protocol::Milliseconds>(
      std::chrono::duration<double>(plan ? 2 * plan->link.delay_seconds : 0));
  auto reaction = protocol::from_minutes(plan ? plan->link.reaction_minutes : 3);
  if (age <= there_and_back) return {"on its way", false};
  if (view.recorded_party && age > there_and_back + reaction)
    return {"sent " + age_text(age) + " ago", false};
  return {"not heard " + age_text(age), age > there_and_back + reaction};
}

struct ListLine {
  enum class Kind { call, chance, question };
  protocol::Instant at{};
  protocol::Uuid id{};
  std::string text;
  CallLife life;
  Kind kind{};
};

CallLife life_of(const picture::QuestionAsked& question, const View& view) {
  if (!question.answers.empty()) return {"answered", false};
  auto open = view.now - question.origin.at;
  constexpr minutes long_open{10};
  return {"open " + age_text(open), open >= long_open};
}

/// Calls and questions, newest first; at least the newest so many of them.
std::vector<ListLine> list_of(const View& view, const ClockText& clock,
                              std::size_t least = std::numeric_limits<std::size_t>::max()) {
  std::vector<ListLine> lines;
  if (!view.picture) return lines;
  // Either list is in order of time.
  const auto newest = [least](const auto& all) {
    return std::ranges::subrange(
        all.end() - static_cast<std::ptrdiff_t>(std::min(least, all.size())), all.end());
  };
  for (const auto& call : newest(view.picture->calls)) {
    std::string text = call_text(call.call, clock);
    if (protocol::only_states_a_chance(call.call))
      text = fmt::format("{:.0f} %: {}", *call.call.chance * 100, *call.call.outcome);
    else if (call.call.chance && call.call.outcome)
      text += fmt::format(" {:.0f} %: {}", *call.call.chance * 100, *call.call.outcome);
    lines.push_back({call.origin.at, call.origin.id, std::move(text), life_of(call, view),
                     protocol::only_states_a_chance(call.call) ? ListLine::Kind::chance
                                                               : ListLine::Kind::call});
  }
  for (const auto& q : newest(view.picture->questions))
    lines.push_back(
        {q.origin.at, q.origin.id, q.question.text, life_of(q, view), ListLine::Kind::question});
  std::stable_sort(lines.begin(), lines.end(),
                   [](const ListLine& a, const ListLine& b) { return a.at > b.at; });
  return lines;
}

/// What the keys do to a line of the list.
std::string_view keys_text(ListLine::Kind kind, const View& view) {
  switch (kind) {
    case ListLine::Kind::call:
      return may_answer_for_field(view)
                 ? "the field: h heard    a acting    d declined    Enter in Heard"
                 : "Enter shows it in Heard";
    case ListLine::Kind::chance:
      return "t came true    n did not    Enter in Heard";
    case ListLine::Kind::question:
      return may_send(view) ? "r answers    Enter in Heard" : "Enter shows it in Heard";
  }
  return {};
}

/// A line of the list as it is drawn.
struct ShownLine {
  std::vector<std::string> text;  ///< the first line beside its life, the others below it
  bool whole = true;              ///< all of its text is there
  float high = 0;
};

float time_width(const Canvas& canvas) {
  return canvas.fonts().figures_width(
             {Type::fine}, canvas.clock().mode == TimeMode::elapsed ? "0:00:00" : "00:00:00") +
         canvas.px(14);
}

Font life_font(const CallLife& life) {
  return {Type::fine, life.wants_eyes ? Weight::medium : Weight::regular};
}

/// The text in at most so many lines; what has no room is cut.
ShownLine shown_line(const ListLine& line, const Canvas& canvas, std::size_t most) {
  constexpr Font font{Type::text};
  const Fonts& f = canvas.fonts();
  const float below = canvas.area().w - time_width(canvas);
  const float beside =
      below - f.figures_width(life_font(line.life), line.life.words) - canvas.px(14);
  ShownLine shown;
  std::string_view rest = line.text;
  while (shown.text.size() + 1 < most &&
         f.width(font, rest) > (shown.text.empty() ? beside : below)) {
    const auto lines = wrap(f, font, rest, shown.text.empty() ? beside : below);
    if (lines.size() < 2) break;
    shown.text.emplace_back(rest.substr(0, lines[0].end));
    rest.remove_prefix(lines[1].begin);
  }
  shown.text.push_back(ellipsis(f, font, rest, shown.text.empty() ? beside : below));
  shown.whole = shown.text.back() == rest;
  shown.high =
      canvas.px(line_pitch) + canvas.px(further_line) * static_cast<float>(shown.text.size() - 1);
  return shown;
}

/// The lines from one on that have room. The newest say all they say if need be in two lines, and
/// so do the others where all of them have room; the chosen one in as many as it takes.
std::vector<ShownLine> shown_from(const std::vector<ListLine>& lines, std::size_t first,
                                  const std::optional<protocol::Uuid>& chosen_id,
                                  const Canvas& canvas, float room) {
  const float pitch = canvas.px(line_pitch), further = canvas.px(further_line);
  std::vector<ShownLine> shown;
  for (std::size_t i = first; i < lines.size() && room >= pitch; ++i) {
    const bool chosen = chosen_id == lines[i].id;
    const std::size_t after = lines.size() - i - 1;
    const std::size_t kept = chosen                         ? 0
                             : shown.size() < lines_at_ease ? lines_at_ease - shown.size() - 1
                                                            : after;
    const float spare = room - pitch * static_cast<float>(1 + std::min(after, kept));
    const auto has_room = static_cast<std::size_t>(std::max(0.0F, std::floor(spare / further)));
    shown.push_back(
        shown_line(lines[i], canvas, 1 + (chosen ? has_room : std::min<std::size_t>(1, has_room))));
    room -= shown.back().high;
  }
  return shown;
}

/// The height at which the newest lines say all that two lines hold.
float list_at_ease(const std::vector<ListLine>& lines, const Canvas& canvas) {
  float high = 0;
  for (std::size_t i = 0; i < std::min(lines.size(), lines_at_ease); ++i)
    high += shown_line(lines[i], canvas, 2).high;
  return std::max(high, canvas.px(line_pitch));
}

/// The arrows choose a line, the first press the newest.
void choose_line(const std::vector<ListLine>& lines, CallState& state, const Canvas& canvas,
                 Commands& out) {
  if (lines.empty() || !(canvas.asked("call.down") || canvas.asked("call.up"))) return;
  const auto at =
      std::ranges::find(lines, canvas.chosen().event.value_or(protocol::Uuid{}), &ListLine::id) -
      lines.begin();
  auto to = static_cast<std::size_t>(at);
  if (to == lines.size())
    to = 0;
  else if (canvas.asked("call.down"))
    to = std::min(to + 1, lines.size() - 1);
  else if (to > 0)
    --to;
  Chosen chosen = canvas.chosen();
  chosen.event = lines[to].id;
  state.bring = chosen.event;
  out.push_back(ask::Choose{chosen});
}

void draw_list(const View& view, const std::vector<ListLine>& lines, CallState& state,
               Canvas& canvas, Rect box, Commands& out) {
  choose_line(lines, state, canvas, out);
  const float pitch = canvas.px(line_pitch);
  if (box.h < pitch) return;
  if (lines.empty()) {
    canvas.text({box.x, box.y + canvas.px(15)}, {Type::text}, Ink::soft,
                "No calls and no questions yet.");
    return;
  }
  // What the keys do to the chosen line is told below the list, if need be in place of a line of
  // it; while something is written they are letters.
  const auto chosen_line = std::ranges::find_if(
      lines, [&](const ListLine& line) { return canvas.chosen().event == line.id; });
  const bool tells =
      chosen_line != lines.end() && canvas.focused() && state.writing == CallState::Writing::none;
  const float foot = canvas.px(list_foot);
  const bool more_than_fit = pitch * static_cast<float>(lines.size()) > box.h;
  const bool foots = (tells && box.h - foot >= pitch) ||
                     (more_than_fit && box.h - foot >= pitch * static_cast<float>(least_lines));
  const float room = foots ? box.h - foot : box.h;
  if (canvas.pointer().over && box.contains(canvas.pointer().at)) {
    if (canvas.pointer().wheel < 0) ++state.row;
    if (canvas.pointer().wheel > 0 && state.row > 0) --state.row;
  }
  // What the keys act on stays in sight while lines come in above it.
  if (tells && (lines.size() != state.lines || room != state.room)) state.bring = chosen_line->id;
  state.lines = lines.size();
  state.room = room;
  state.row = std::min(state.row, lines.size() - 1);
  // What was chosen just now is so from the next frame on.
  const auto chosen = state.bring ? state.bring : canvas.chosen().event;
  auto shown = shown_from(lines, state.row, chosen, canvas, room);
  const auto show_from = [&](std::size_t row) {
    state.row = row;
    shown = shown_from(lines, row, chosen, canvas, room);
  };
  if (state.bring) {
    const auto place = static_cast<std::size_t>(
        std::ranges::find(lines, *state.bring, &ListLine::id) - lines.begin());
    if (place < state.row) show_from(place);
    while (place < lines.size() && place >= state.row + shown.size()) show_from(state.row + 1);
    state.bring.reset();
  }
  // No room stays empty below while there are lines above.
  while (state.row > 0 && state.row + shown.size() == lines.size()) {
    const auto before = shown_from(lines, state.row - 1, chosen, canvas, room);
    if (before.size() + state.row - 1 < lines.size()) break;
    show_from(state.row - 1);
  }

  const float beside_time = time_width(canvas);
  float y = box.y;
  for (std::size_t i = 0; i < shown.size(); ++i) {
    const ListLine& line = lines[state.row + i];
    const Rect row{box.x, y, box.w, shown[i].high};
    if (canvas.chosen().event == line.id)
      canvas.fill({row.x - canvas.px(6), row.y, row.w + canvas.px(12), row.h}, Ink::chosen,
                  canvas.px(3));
    float baseline = row.y + std::round((pitch + canvas.fonts().cap_height(Type::text)) / 2);
    canvas.figures({row.x, baseline}, {Type::fine}, Ink::soft, canvas.clock().seconds(line.at));
    // In cells: while its seconds run nothing else moves.
    canvas.figures({row.right(), baseline}, life_font(line.life),
                   line.life.wants_eyes ? Ink::rust : Ink::soft, line.life.words, Align::right);
    for (const std::string& text : shown[i].text) {
      canvas.text({row.x + beside_time, baseline}, {Type::text}, Ink::ink, text);
      baseline += canvas.px(further_line);
    }
    if (!shown[i].whole) canvas.tip(row, line.text);
    if (canvas.press("line", row)) out.push_back(ask::ShowEvent{line.id});
    y = row.bottom();
  }
  const std::size_t more = lines.size() - state.row - shown.size();
  if (box.bottom() - y < foot) return;
  const float baseline = box.bottom() - canvas.px(4);
  float older = more == 0 ? 0
                          : canvas.text({box.right(), baseline}, {Type::fine}, Ink::soft,
                                        fmt::format("{} older", more), Align::right) +
                                canvas.px(16);
  if (!tells) return;
  canvas.text(
      {box.x, baseline}, {Type::fine}, Ink::soft,
      ellipsis(canvas.fonts(), {Type::fine}, keys_text(chosen_line->kind, view), box.w - older));
}

void send(CallState& state, const View& view, Commands& out) {
  auto call = advised_call(view);
  if (!call || !may_send(view)) return;
  state.sent = call->text;
  out.push_back(ask::Post{*call, {}});
}

void stop_writing(CallState& state) {
  state.writing = CallState::Writing::none;
  state.answering.reset();
  state.typed.clear();
  state.replacement.reset();
  state.take_keyboard = false;
  state.typing = false;
}

void start_writing(CallState& state, CallState::Writing what) {
  if (state.writing != what) state.typed.clear();
  state.writing = what;
  state.take_keyboard = true;
}

/// The ready outcomes in turn, and the chance up and down by five percent, as they are typed.
void offer_outcome(const View& view, CallState& state, Canvas& canvas) {
  const double step = canvas.asked("call.more") ? 5 : canvas.asked("call.less") ? -5 : 0;
  const bool next = canvas.asked("call.says");
  if (step == 0 && !next) return;
  const std::string& typed = state.replacement ? *state.replacement : state.typed;
  double percent = 50;
  std::string outcome;
  // What is typed is kept as far as it goes; a chance alone is one of nothing yet.
  if (auto stated = stated_chance(typed + (typed.ends_with('%') ? " ?" : ""))) {
    percent = stated->chance * 100;
    outcome = stated->outcome == "?" ? "" : stated->outcome;
  } else if (!typed.empty() && std::isdigit(static_cast<unsigned char>(typed.front())) == 0) {
    outcome = typed;
  }
  if (next) {
    const auto ready = debrief::outcomes_to_state(*view.picture, view.now);
    if (!ready.empty())
      outcome = ready[state.outcome++ % ready.size()];
    else if (step == 0)
      return;  // on the way there is none
  }
  // Nobody is ever quite sure: the ends are left to be typed.
  if (step != 0) percent = std::clamp(percent + step, 5.0, 95.0);
  state.replacement = fmt::format("{:.0f} % {}", percent, outcome);
}

/// The stated chances, oldest first: those first whose outcome nobody has said, of these our own.
std::vector<const picture::CallMade*> chances_of(const picture::Picture& picture,
                                                 const std::string& adviser) {
  std::vector<const picture::CallMade*> chances;
  for (const auto& call : picture.calls)
    if (call.call.chance && call.call.outcome) chances.push_back(&call);
  std::ranges::stable_sort(chances, {}, [&](const picture::CallMade* each) {
    return std::pair(debrief::outcome_of(picture, each->origin.id).has_value(),
                     each->origin.from != adviser);
  });
  return chances;
}

/// Goes from chance to chance and says what came of the chosen one.
void mark_chances(const View& view, CallState& state, Canvas& canvas, Commands& out) {
  const bool came_true = canvas.asked("call.true");
  const bool mark = came_true || canvas.asked("call.false");
  if (!view.picture || (!mark && !canvas.asked("call.mark"))) return;
  const auto chances = chances_of(*view.picture, state.adviser);
  const auto chosen = std::ranges::find_if(chances, [&](const picture::CallMade* each) {
    return canvas.chosen().event == each->origin.id;
  });
  if (mark && chosen == chances.end()) return;
  if (mark) out.push_back(ask::Post{debrief::outcome_said((*chosen)->origin.id, came_true), {}});
  if (chances.empty()) return;
  const auto next = chosen == chances.end() || std::next(chosen) == chances.end()
                        ? chances.front()
                        : *std::next(chosen);
  Chosen choose = canvas.chosen();
  choose.event = next->origin.id;
  state.bring = next->origin.id;
  out.push_back(ask::Choose{choose});
}

/// What the field said of the chosen call, an answer to the chosen question, the chosen line in
/// Heard.
void answer_chosen(const View& view, CallState& state, Canvas& canvas, Commands& out) {
  if (!view.picture || !canvas.chosen().event) return;
  const protocol::Uuid chosen = *canvas.chosen().event;
  const auto is_it = [&](const auto& each) { return each.origin.id == chosen; };
  const auto& calls = view.picture->calls;
  const auto call = std::ranges::find_if(calls, is_it);
  const auto& questions = view.picture->questions;
  const bool asked = std::ranges::find_if(questions, is_it) != questions.end();
  if (call != calls.end() && !protocol::only_states_a_chance((*call).call) &&
      may_answer_for_field(view)) {
    using protocol::Answered;
    constexpr std::array<std::pair<std::string_view, Answered>, 3> keys{
        {{"call.heard", Answered::heard},
         {"call.acting", Answered::acting},
         {"call.declined", Answered::declined}}};
    for (const auto& [key, answered] : keys)
      if (canvas.asked(key) &&
          ((*call).replies.empty() || (*call).replies.back().answer != answered))
        out.push_back(ask::Post{protocol::CallAnswer{chosen, answered, std::nullopt}, {}});
  }
  if (asked && canvas.asked("call.answer") && may_send(view)) {
    start_writing(state, CallState::Writing::answer);
    state.answering = chosen;
  }
  if (state.writing == CallState::Writing::none && canvas.asked("call.enter") &&
      (call != calls.end() || asked)) {
    out.push_back(ask::ShowEvent{chosen});
    out.push_back(ask::Focus{RegionId::heard});
  }
}

/// The question that is being answered, in the lines that have room above what is written: the list
/// may have none for it.
std::vector<std::string> answered_lines(const View& view, const CallState& state,
                                        const Canvas& canvas) {
  std::vector<std::string> shown;
  if (!view.picture || state.writing != CallState::Writing::answer) return shown;
  constexpr Font font{Type::text};
  const Fonts& f = canvas.fonts();
  const auto most = static_cast<std::size_t>(
      std::max(1.0F, std::floor(canvas.area().h / 3 / f.line_height(font.type))));
  for (const auto& asked : view.picture->questions) {
    if (asked.origin.id != state.answering) continue;
    const std::string text = "To “" + asked.question.text + "”";
    const auto lines = wrap(f, font, text, canvas.area().w);
    for (std::size_t i = 0; i < std::min(lines.size(), most); ++i) {
      const bool cut = i + 1 == most && lines.size() > most;
      shown.push_back(cut ? ellipsis(f, font, text.substr(lines[i].begin), canvas.area().w)
                          : text.substr(lines[i].begin, lines[i].end - lines[i].begin));
    }
  }
  return shown;
}

float writing_height(const View& view, const CallState& state, const Canvas& canvas) {
  return canvas.px(state.writing == CallState::Writing::call ? 82 : 54) +
         canvas.fonts().line_height(Type::text) *
             static_cast<float>(answered_lines(view, state, canvas).size());
}

/// The line in which a call or a chance is written; returns its height.
float draw_writing(const View& view, CallState& state, Canvas& canvas, float top, Commands& out) {
  const Rect& area = canvas.area();
  const bool chance = state.writing == CallState::Writing::chance;
  const bool answer = state.writing == CallState::Writing::answer;
  const bool allowed = chance ? may_state(view) : may_send(view);
  if (chance) offer_outcome(view, state, canvas);
  float y = top;
  if (state.writing == CallState::Writing::call) {
    float x = area.x;
    for (std::size_t i = 0; i < kinds_of_call.size(); ++i) {
      bool chosen = i == state.says;
      Rect chip = canvas.chip_size({x, y}, kinds_of_call[i].second);
      if (chosen) canvas.fill(chip, Ink::panel, chip.h / 2);
      canvas.outline(chip, chosen ? Ink::ink : Ink::edge, chip.h / 2, canvas.px(1));
      float baseline = chip.y + std::round((chip.h + canvas.fonts().cap_height(Type::fine)) / 2);
      canvas.text({chip.x + chip.w / 2, baseline},
                  {Type::fine, chosen ? Weight::semibold : Weight::regular}, Ink::ink,
                  kinds_of_call[i].second, Align::centre);
      if (canvas.press(kinds_of_call[i].second, chip)) state.says = i;
      x = chip.right() + canvas.px(6);
    }
    y += canvas.px(28);
  }
  for (const std::string& text : answered_lines(view, state, canvas)) {
    canvas.text({area.x, y + canvas.px(14)}, {Type::text}, Ink::ink, text);
    y += canvas.fonts().line_height(Type::text);
  }
  Rect line{area.x, y, area.w, canvas.px(30)};
  auto typed = canvas.field(
      "writing", {line.x + canvas.px(2), line.y, line.w - canvas.px(4), line.h - canvas.px(2)},
      state.typed,
      chance   ? "20 % another new kind here within ten minutes"
      : answer ? "the answer, as it should be said on the loop"
               : "as it should be said on the loop",
      {Type::lead}, {.take_keyboard = state.take_keyboard, .replacement = &state.replacement});
  if (typed.active) state.take_keyboard = false;
  state.typing = typed.active;
  canvas.rule(line.x, line.right(), line.bottom() - canvas.px(2), Ink::ink);
  y = line.bottom() + canvas.px(4);

  auto stated = chance ? stated_chance(state.typed) : std::nullopt;
  bool ready =
      chance ? stated.has_value() : state.typed.find_first_not_of(' ') != std::string::npos;
  const bool ready_outcome =
      chance && view.picture && !debrief::outcomes_to_state(*view.picture, view.now).empty();
  std::string hint = ready_outcome ? "Ctrl+K a ready outcome, Ctrl+↑ ↓ by 5 %, Enter states it"
                     : chance      ? "a chance, as 20 %, and of what; no ready outcome on the way"
                     : answer      ? "Enter answers the question, Esc leaves"
                                   : "Enter sends, Esc leaves";
  if (chance && !state.typed.empty())
    hint = stated ? fmt::format("P {:.2f} that: {}", stated->chance, stated->outcome)
                  : "begin with the chance, as 20 %, then say of what";
  if (!allowed) hint = "in replay nothing is sent";
  canvas.text({area.x, y + canvas.px(12)}, {Type::fine},
              chance && !state.typed.empty() && !stated ? Ink::rust : Ink::soft,
              ellipsis(canvas.fonts(), {Type::fine}, hint, area.w));
  if (canvas.asked("call.enter") && ready && allowed && answer) {
    out.push_back(ask::Post{protocol::Answer{*state.answering, state.typed}, {}});
    out.push_back(ask::Focus{RegionId::call});
    stop_writing(state);
  } else if (canvas.asked("call.enter") && ready && allowed) {
    protocol::Call call;
    call.text =
        chance ? fmt::format("{:.0f} %: {}", stated->chance * 100, stated->outcome) : state.typed;
    if (chance) {
      call.chance = stated->chance;
      call.outcome = stated->outcome;
    }
    call.says = chance ? Says::free : kinds_of_call[state.says].first;
    if (view.assessment && !view.assessment->here.station.empty())
      call.station = view.assessment->here.station;
    out.push_back(ask::Post{call, {}});
    out.push_back(ask::Focus{RegionId::call});
    stop_writing(state);
  }
  return y + canvas.px(18) - top;
}

float draw_buttons(const View& view, CallState& state, Canvas& canvas, float top, Commands& out) {
  const Rect& area = canvas.area();
  if (top + canvas.px(30) > area.bottom() + canvas.px(4)) return 0;  // their keys go on working
  const Advice* advice = advice_of(view);
  bool sendable = advice && advised_call(view) && may_send(view);
  bool sent = advice && (already_sent(view, advice->sentence) || state.sent == advice->sentence);
  float gap = canvas.px(8), w = std::floor((area.w - 3 * gap) / 4), h = canvas.px(30);
  auto place = [&](int i) { return Rect{area.x + static_cast<float>(i) * (w + gap), top, w, h}; };
  bool wide =
      w >= canvas.fonts().width({Type::text, Weight::medium}, "Send this call") + canvas.px(12);
  auto words = [&](std::string_view full, std::string_view brief) { return wide ? full : brief; };
  if (canvas.button("send", place(0), sent ? "Sent" : words("Send this call", "Send"),
                    sendable && !sent, sendable && !sent))
    send(state, view, out);
  if (canvas.button("write", place(1), words("Write another", "Write"), false, may_send(view)))
    start_writing(state, CallState::Writing::call);
  if (canvas.button("chance", place(2), words("State a chance", "Chance"), false, may_state(view)))
    start_writing(state, CallState::Writing::chance);
  if (canvas.button("why", place(3), state.why ? "Less" : "Why", false,
                    advice && !advice->why.empty()))
    state.why = !state.why;
  return h;
}

}  // namespace

std::optional<StatedChance> stated_chance(std::string_view typed) {
  std::string text(typed);
  const char* begin = text.c_str();
  char* end = nullptr;
  double percent = std::strtod(begin, &end);
  if (end == begin || !(percent >= 0 && percent <= 100)) return std::nullopt;
  std::string_view rest = std::string_view(text).substr(static_cast<std::size_t>(end - begin));
  auto skip = [&](std::string_view signs) {
    rest.remove_prefix(std::min(rest.find_first_not_of(signs), rest.size()));
  };
  skip(" ");
  if (rest.empty() || rest.front() != '%') return std::nullopt;
  rest.remove_prefix(1);
  skip(" :,");
  while (!rest.empty() && rest.back() == ' ') rest.remove_suffix(1);
  if (rest.empty()) return std::nullopt;
  return StatedChance{percent / 100, std::string(rest)};
}

CallLife life_of(const picture::CallMade& call, const View& view) {
  const bool chance = call.call.chance && call.call.outcome;
  const auto came_true =
      chance && view.picture ? debrief::outcome_of(*view.picture, call.origin.id) : std::nullopt;
  const std::string outcome = !came_true ? "" : *came_true ? "came true" : "did not";
  if (protocol::only_states_a_chance(call.call)) return {came_true ? outcome : "stated", false};
  CallLife life = life_of_call(call, view);
  if (came_true) life.words += ", " + outcome;
  return life;
}

std::optional<protocol::Call> advised_call(const View& view) {
  const Advice* advice = advice_of(view);
  if (!advice || !view.picture || outdated(view) || advice->kind == Advice::Kind::no_call ||
      advice->sentence.empty())
    return std::nullopt;
  protocol::Call call;
  call.text = advice->sentence;
  call.advised = true;
  switch (advice->kind) {
    case Advice::Kind::stay_until:
      call.says = Says::stay;
      break;
    case Advice::Kind::move_on:
    case Advice::Kind::turn_back:
      call.says = Says::move_on;
      break;
    case Advice::Kind::get_first:
      call.says = Says::get;
      break;
    case Advice::Kind::ask:
      call.says = Says::ask;
      break;
    case Advice::Kind::no_call:
      break;
  }
  if (advice->depart) call.until = stamp(view, *advice->depart);
  if (!view.assessment->here.station.empty()) call.station = view.assessment->here.station;
  if (const auto& back = view.assessment->turn_back) {
    auto lead = back->latest_departure - back->latest_useful_call;  // link and reaction
    call.useful_until =
        stamp(view, advice->depart ? std::min(*advice->depart, back->latest_departure) - lead
                                   : back->latest_useful_call);
  }
  return call;
}

namespace {

/// The reasons that have room, from one on, and how many there are besides. Returns the height.
float draw_reasons(const std::vector<std::string>& reasons, CallState& state, Canvas& canvas,
                   float top, float room) {
  const Fonts& f = canvas.fonts();
  const Rect& area = canvas.area();
  const float indent = canvas.px(14), gap = canvas.px(2), more_high = canvas.px(18);
  if (canvas.asked("call.reasons_back")) state.reason = 0;
  state.reason = std::min(state.reason, reasons.empty() ? 0 : reasons.size() - 1);
  float y = top;
  std::size_t next = state.reason;
  for (; next < reasons.size(); ++next) {
    const auto lines = wrap(f, {Type::text}, reasons[next], area.w - indent).size();
    const float high = static_cast<float>(lines) * f.line_height(Type::text) + gap;
    const bool all = next + 1 == reasons.size() && state.reason == 0;
    // One is always shown, rather than how many there are.
    if (y - top + high > room - (all || next == state.reason ? 0 : more_high)) {
      if (next > state.reason) break;
      const std::string cut =
          ellipsis(f, {Type::text}, reasons[next], std::max(0.0F, area.w - indent));
      canvas.text({area.x + indent, y + indent}, {Type::text}, Ink::ink, cut);
      canvas.tip({area.x, y, area.w, f.line_height(Type::text)}, reasons[next]);
      y += f.line_height(Type::text) + gap;
      ++next;
      break;
    }
    canvas.text({area.x, y + indent}, {Type::text}, Ink::soft, "–");
    y += canvas.paragraph({area.x + indent, y + indent}, {Type::text}, Ink::ink, reasons[next],
                          area.w - indent) +
         gap;
  }
  const std::size_t after = reasons.size() - next;
  if (y - top + more_high <= room && (after > 0 || state.reason > 0)) {
    canvas.text({area.x + indent, y + canvas.px(12)}, {Type::fine}, Ink::soft,
                after == 0 ? "Page ↑ the first again" : fmt::format("{} more: Page ↓", after));
    y += more_high;
  }
  if (canvas.asked("call.reasons_on") && after > 0) state.reason = next;
  return y - top + canvas.px(6);
}

}  // namespace

Commands draw_call(const View& view, CallState& state, Canvas& canvas) {
  Commands out;
  const Rect& area = canvas.area();
  const Fonts& f = canvas.fonts();
  float y = canvas.heading("Call", aside_of(view, canvas.clock()));
  const Advice* advice = advice_of(view);
  // From then on the picture says whether it stands: taken back, it may be sent again.
  if (!state.sent.empty() && already_sent(view, state.sent)) state.sent.clear();

  if (canvas.asked("call.send") &&
      !(advice && (already_sent(view, advice->sentence) || state.sent == advice->sentence)))
    send(state, view, out);
  if (canvas.asked("call.write") && may_send(view)) start_writing(state, CallState::Writing::call);
  if (canvas.asked("call.chance") && may_state(view))
    start_writing(state, CallState::Writing::chance);
  mark_chances(view, state, canvas, out);
  answer_chosen(view, state, canvas, out);
  if (canvas.asked("call.why")) {
    state.why = !state.why;
    state.reason = 0;
  }
  if (canvas.asked("call.says")) state.says = (state.says + 1) % kinds_of_call.size();
  if (canvas.asked("call.leave")) {
    if (state.writing != CallState::Writing::none) {
      stop_writing(state);
      out.push_back(ask::Focus{RegionId::call});
    } else {
      state.why = false;
      out.push_back(ask::Choose{});
    }
  }

  // In a low place the reasons that are asked for take the room of those on the card and of the
  // list, and begin with the former.
  const bool low = area.h < canvas.px(400);
  const bool reasons_alone = state.why && advice && low;
  const Parts parts = parts_of(view, canvas, reasons_alone);
  const float gap = canvas.px(below_part), wanted = parts.card_high - gap;
  // In a low place the buttons come before the reasons, which are on the tip; the call itself
  // before the buttons.
  const float sentence = canvas.px(20) + f.line_height(Type::title);
  float card_room = area.bottom() - y;
  if (card_room < wanted + canvas.px(44) && card_room >= sentence + canvas.px(44))
    card_room -= canvas.px(44);
  const auto put_card = [&](const Card& card, float high, float room, bool current, Type head) {
    const Rect box{area.x, y, area.w, std::clamp(room, 1.0F, high)};
    if (box.h < high) canvas.tip(box, card.sentence + " " + card.reason + " " + card.sureness);
    draw_card(canvas, card, box, current, head);
    y = box.bottom() + gap;
  };
  put_card(parts.card, wanted, card_room, !outdated(view), Type::title);
  if (parts.end_high > 0)
    put_card(parts.end, parts.end_high - gap, area.bottom() - y, false, Type::text);
  if (parts.caution_high > 0) {
    canvas.paragraph({area.x, y + canvas.px(10)}, {Type::fine}, Ink::soft,
                     advise::turn_back_caution, area.w);
    y += parts.caution_high;
  }

  // From below: the newest lines of the list, the buttons or the line being written, what is
  // missing.
  const auto lines = list_of(view, canvas.clock());
  const float pitch = canvas.px(line_pitch);
  const bool writes = state.writing != CallState::Writing::none;
  float controls = writes ? writing_height(view, state, canvas) : canvas.px(buttons_high);
  // Where there is room for one of them alone, the line that is being chosen takes that of the
  // buttons, whose keys go on working.
  const bool chooses =
      canvas.focused() && !writes && std::ranges::any_of(lines, [&](const ListLine& line) {
        return canvas.chosen().event == line.id;
      });
  const bool lines_alone =
      chooses && area.bottom() - y - parts.missing_high - controls - canvas.px(above_list) < pitch;
  if (lines_alone) controls = 0;
  float free = area.bottom() - y - controls - parts.missing_high;
  // The newest calls and questions are to be seen; in a low place some of their lines make room for
  // the curves.
  if (!reasons_alone) {
    free -= canvas.px(above_list);
    const auto high = [&](std::size_t shown) {
      const bool says_the_rest = shown >= least_lines && shown < lines.size();
      return pitch * static_cast<float>(shown) + (says_the_rest ? canvas.px(list_foot) : 0);
    };
    std::size_t newest = std::clamp<std::size_t>(lines.size(), 1, lines_at_ease);
    while (newest > 1 &&
           free - high(newest) < canvas.px(newest > least_lines ? chart_to_read : least_chart))
      --newest;
    free -= high(newest);
    const float further = canvas.px(further_line);
    const float for_further =
        std::min(free - canvas.px(chart_to_read),
                 list_at_ease(lines, canvas) - pitch * static_cast<float>(newest));
    free -= further * std::max(0.0F, std::floor(for_further / further));
  }

  if (state.why && advice) {
    std::vector<std::string> reasons;
    if (reasons_alone)
      for (const advise::Telling& each : {advice->reason, advice->sureness})
        if (!each.empty()) reasons.push_back(canvas.clock().told(each));
    for (const advise::Telling& each : advice->why) reasons.push_back(canvas.clock().told(each));
    y += draw_reasons(reasons, state, canvas, y, free);
  } else if (advice) {
    if (auto plate = plates::advice_plate(*advice, view.assessment->clock.elapsed);
        plate && free > canvas.px(88)) {
      plate->width = area.w / f.scale();
      plate->height = std::min(free / f.scale() - below_chart,
                               std::max(chart_at_ease, area.h / f.scale() * 0.4F));
      if (canvas.clock().mode != TimeMode::elapsed)
        plate->x_ticks =
            ticks_of_day(advice->curve.front().minute, advice->curve.back().minute,
                         picture::start_of(*view.picture), canvas.clock(), plate->width);
      auto chart = charts::crossing(*plate, measure_of(f));
      paint(canvas, chart, {area.x, y});
      y += canvas.px(static_cast<float>(chart.height)) + canvas.px(below_chart);
    }
  }

  if (!parts.missing.empty()) {
    float baseline = y + std::round((canvas.px(20) + f.cap_height(Type::text)) / 2);
    float label =
        canvas.text({area.x, baseline}, {Type::text, Weight::medium}, Ink::rust, "Before leaving") +
        canvas.px(8);
    std::string text = ellipsis(f, {Type::text}, parts.missing, area.w - label);
    canvas.text({area.x + label, baseline}, {Type::text}, Ink::ink, text);
    if (text != parts.missing) canvas.tip({area.x, y, area.w, canvas.px(20)}, parts.missing);
    y += parts.missing_high;
  }

  if (writes) {
    y += draw_writing(view, state, canvas, y, out);
  } else {
    state.typing = false;
    if (!lines_alone) y += draw_buttons(view, state, canvas, y, out);
  }
  y += canvas.px(above_list);
  draw_list(view, lines, state, canvas, {area.x, y, area.w, area.bottom() - y}, out);
  return out;
}

Wanted call_height(const View& view, const Canvas& canvas) {
  if (!view.assessment) return {};  // it will soon be there, and want its room
  const Parts parts = parts_of(view, canvas);
  const Advice* advice = advice_of(view);
  const float chart =
      advice && !advice->curve.empty() ? canvas.px(chart_at_ease) + canvas.px(below_chart) : 0;
  const float above = canvas.heading_height() + parts.card_high + parts.end_high +
                      parts.caution_high + chart + parts.missing_high + canvas.px(buttons_high) +
                      canvas.px(above_list);
  // A list that grew with every call would move what stands below it all the time.
  const float a_line_each = canvas.px(line_pitch) * static_cast<float>(lines_at_ease);
  const float at_ease =
      std::max(a_line_each, list_at_ease(list_of(view, canvas.clock(), lines_at_ease), canvas));
  return {above + a_line_each + canvas.px(4), above + at_ease + canvas.px(list_foot + 4)};
}

std::span<const KeyLine> call_keys() {
  constexpr auto here = RegionId::call;
  static const auto sending = [](const View& v) { return may_send(v); };
  static const auto stating = [](const View& v) { return may_state(v); };
  static const auto answering = [](const View& v) { return may_answer_for_field(v); };
  static const std::vector<KeyLine> lines{
      {"call.send",
       "send the advised call",
       {{GLFW_KEY_ENTER, GLFW_MOD_CONTROL}},
       here,
       false,
       sending},
      {"call.write", "write another", {{GLFW_KEY_W, 0}}, here, false, sending},
      {"call.chance", "state a chance", {{GLFW_KEY_S, 0}}, here, false, stating},
      {"call.enter",
       "send what is written; show the chosen line in Heard",
       {{GLFW_KEY_ENTER, 0}, {GLFW_KEY_KP_ENTER, 0}},
       here,
       true,
       stating},
      {"call.says",
       "kind of the written call, a ready outcome of a chance",
       {{GLFW_KEY_K, GLFW_MOD_CONTROL}},
       here,
       true,
       stating},
      {"call.mark", "to the next chance that is open", {{GLFW_KEY_M, 0}}, here, false, stating},
      {"call.true", "the chosen chance came true", {{GLFW_KEY_T, 0}}, here, false, stating},
      {"call.false", "it did not come true", {{GLFW_KEY_N, 0}}, here, false, stating},
      {"call.why", "why", {{GLFW_KEY_Y, 0}}, here},
      {"call.reasons_on", "on through the reasons", {{GLFW_KEY_PAGE_DOWN, 0}}, here},
      {"call.reasons_back", "back to the first", {{GLFW_KEY_PAGE_UP, 0}}, here},
      {"call.up", "choose a newer call or question", {{GLFW_KEY_UP, 0}}, here},
      {"call.down", "choose an older one", {{GLFW_KEY_DOWN, 0}}, here},
      {"call.heard", "the field heard the chosen call", {{GLFW_KEY_H, 0}}, here, false, answering},
      {"call.acting", "the field acts on it", {{GLFW_KEY_A, 0}}, here, false, answering},
      {"call.declined", "the field declines it", {{GLFW_KEY_D, 0}}, here, false, answering},
      {"call.answer", "answer the chosen question", {{GLFW_KEY_R, 0}}, here, false, sending},
      {"call.more",
       "the written chance 5 % up",
       {{GLFW_KEY_UP, GLFW_MOD_CONTROL}},
       here,
       true,
       stating},
      {"call.less", "5 % down", {{GLFW_KEY_DOWN, GLFW_MOD_CONTROL}}, here, true, stating},
      {"call.leave", "leave the line, nothing chosen", {{GLFW_KEY_ESCAPE, 0}}, here, true},
  };
  return lines;
}

}  // namespace stonecall::desk
