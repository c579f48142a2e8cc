#include "console/desk/call_list.hpp"

#include <algorithm>
#include <cmath>
#include <functional>
#include <ranges>

#include <fmt/format.h>

#include "console/debrief/chances.hpp"
#include "console/desk/call_sending.hpp"
#include "console/desk/fact_text.hpp"

namespace stonecall::desk {
namespace {

constexpr Font line_font{Type::text};

std::string line_words(const protocol::Call& call, const ClockText& clock) {
  if (!call.chance || !call.outcome) return call_text(call, clock);
  const std::string stated = debrief::chance_text(*call.chance) + ": " + *call.outcome;
  return protocol::only_states_a_chance(call) ? stated : call_text(call, clock) + " " + stated;
}

/// What the keys do to a line.
std::string_view keys_text(CallLine::Kind kind, const View& view) {
  switch (kind) {
    case CallLine::Kind::call:
      return may_answer_for_field(view)
                 ? "the field: h heard    a acting    d declined    Enter in Heard"
                 : "Enter shows it in Heard";
    case CallLine::Kind::chance:
      return "t came true    n did not    Enter in Heard";
    case CallLine::Kind::question:
      return may_send(view) ? "r answers    Enter in Heard" : "Enter shows it in Heard";
  }
  return {};
}

/// A line as it is drawn.
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
ShownLine shown_line(const CallLine& line, const Canvas& canvas, std::size_t most) {
  const Fonts& f = canvas.fonts();
  const float below = canvas.area().w - time_width(canvas);
  const float beside =
      below - f.figures_width(life_font(line.life), line.life.words) - canvas.px(14);
  ShownLine shown;
  std::string_view rest = line.text;
  while (shown.text.size() + 1 < most &&
         f.width(line_font, rest) > (shown.text.empty() ? beside : below)) {
    const auto lines = wrap(f, line_font, rest, shown.text.empty() ? beside : below);
    if (lines.size() < 2) break;
    shown.text.emplace_back(rest.substr(0, lines[0].end));
    rest.remove_prefix(lines[1].begin);
  }
  shown.text.push_back(ellipsis(f, line_font, rest, shown.text.empty() ? beside : below));
  shown.whole = shown.text.back() == rest;
  shown.high = canvas.px(call_line) +
               canvas.px(further_call_line) * static_cast<float>(shown.text.size() - 1);
  return shown;
}

/// The lines from one on that have room. The newest say all they say if need be in two lines, and
/// so do the others where all of them have room; the chosen one in as many as it takes.
std::vector<ShownLine> shown_from(const std::vector<CallLine>& lines, std::size_t first,
                                  const std::optional<protocol::Uuid>& chosen_id,
                                  const Canvas& canvas, float room) {
  const float pitch = canvas.px(call_line), further = canvas.px(further_call_line);
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

/// The arrows choose a line, the first press the newest.
void choose_line(const std::vector<CallLine>& lines, CallListState& state, const Canvas& canvas,
                 Commands& out) {
  if (lines.empty() || !(canvas.asked("call.down") || canvas.asked("call.up"))) return;
  const auto at =
      std::ranges::find(lines, canvas.chosen().event.value_or(protocol::Uuid{}), &CallLine::id) -
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

void turn_wheel(CallListState& state, const Canvas& canvas, const Rect& box) {
  if (!canvas.pointer().over || !box.contains(canvas.pointer().at)) return;
  if (canvas.pointer().wheel < 0) ++state.row;
  if (canvas.pointer().wheel > 0 && state.row > 0) --state.row;
}

/// The lines in sight, from `state.row` on. That is moved so that the line to be brought is among
/// them, and so that no room stays empty below while there are lines above.
std::vector<ShownLine> lines_in_sight(const std::vector<CallLine>& lines, CallListState& state,
                                      const Canvas& canvas, float room) {
  // What was chosen just now is so from the next frame on.
  const auto chosen = state.bring ? state.bring : canvas.chosen().event;
  const auto from = [&](std::size_t row) { return shown_from(lines, row, chosen, canvas, room); };
  state.row = std::min(state.row, lines.size() - 1);
  auto shown = from(state.row);
  if (state.bring) {
    const auto place = static_cast<std::size_t>(
        std::ranges::find(lines, *state.bring, &CallLine::id) - lines.begin());
    if (place < state.row) shown = from(state.row = place);
    while (place < lines.size() && place >= state.row + shown.size()) shown = from(++state.row);
    state.bring.reset();
  }
  while (state.row > 0 && state.row + shown.size() == lines.size()) {
    auto before = from(state.row - 1);
    if (before.size() + state.row - 1 < lines.size()) break;
    shown = std::move(before);
    --state.row;
  }
  return shown;
}

void draw_line_of(const CallLine& line, const ShownLine& shown, Canvas& canvas, const Rect& row,
                  Commands& out) {
  if (canvas.chosen().event == line.id) canvas.chosen_ground(row);
  float baseline = canvas.baseline_in(row.y, canvas.px(call_line), Type::text);
  canvas.figures({row.x, baseline}, {Type::fine}, Ink::soft, canvas.clock().seconds(line.at));
  // In cells: while its seconds run nothing else moves.
  canvas.figures({row.right(), baseline}, life_font(line.life),
                 line.life.wants_eyes ? Ink::rust : Ink::soft, line.life.words, Align::right);
  const float x = row.x + time_width(canvas);
  for (const std::string& text : shown.text) {
    canvas.text({x, baseline}, line_font, Ink::ink, text);
    baseline += canvas.px(further_call_line);
  }
  if (!shown.whole) canvas.tip(row, line.text);
  if (canvas.press("line", row)) out.push_back(ask::ShowEvent{line.id});
}

/// How many older lines there are, and what the keys do to the chosen one; empty: nothing.
void draw_foot(std::size_t older, std::string_view keys, Canvas& canvas, const Rect& box) {
  const float baseline = box.bottom() - canvas.px(4);
  float room = box.w;
  if (older > 0)
    room -= canvas.text({box.right(), baseline}, {Type::fine}, Ink::soft,
                        fmt::format("{} older", older), Align::right) +
            canvas.px(16);
  if (!keys.empty())
    canvas.text({box.x, baseline}, {Type::fine}, Ink::soft,
                ellipsis(canvas.fonts(), {Type::fine}, keys, room));
}

}  // namespace

std::vector<CallLine> call_lines(const View& view, const ClockText& clock, std::size_t least) {
  std::vector<CallLine> lines;
  if (!view.picture) return lines;
  // Either list is in order of time.
  const auto newest = [least](const auto& all) {
    return std::ranges::subrange(
        all.end() - static_cast<std::ptrdiff_t>(std::min(least, all.size())), all.end());
  };
  for (const auto& call : newest(view.picture->calls))
    lines.push_back({call.origin.at, call.origin.id, line_words(call.call, clock),
                     life_of(call, view),
                     protocol::only_states_a_chance(call.call) ? CallLine::Kind::chance
                                                               : CallLine::Kind::call});
  for (const auto& q : newest(view.picture->questions))
    lines.push_back(
        {q.origin.at, q.origin.id, q.question.text, life_of(q, view), CallLine::Kind::question});
  std::ranges::stable_sort(lines, std::greater<>{}, &CallLine::at);
  return lines;
}

float newest_height(std::size_t newest, std::size_t lines, const Canvas& canvas) {
  const bool says_the_rest = newest >= least_lines && newest < lines;
  return canvas.px(call_line) * static_cast<float>(newest) +
         (says_the_rest ? canvas.px(call_list_foot) : 0);
}

float height_at_ease(const std::vector<CallLine>& lines, const Canvas& canvas) {
  float high = 0;
  for (const CallLine& line : lines | std::views::take(lines_at_ease))
    high += shown_line(line, canvas, 2).high;
  return std::max(high, canvas.px(call_line));
}

bool chosen_among(const std::vector<CallLine>& lines, const Canvas& canvas) {
  return canvas.chosen().event &&
         std::ranges::find(lines, *canvas.chosen().event, &CallLine::id) != lines.end();
}

void draw_call_list(const View& view, const std::vector<CallLine>& lines, bool keys_act,
                    CallListState& state, Canvas& canvas, Rect box, Commands& out) {
  choose_line(lines, state, canvas, out);
  const float pitch = canvas.px(call_line), foot = canvas.px(call_list_foot);
  if (box.h < pitch) return;
  if (lines.empty()) {
    canvas.text({box.x, box.y + canvas.px(15)}, line_font, Ink::soft,
                "No calls and no questions yet.");
    return;
  }
  // What the keys do to the chosen line is told below the list, if need be in place of a line of
  // it.
  const bool tells = keys_act && canvas.focused() && chosen_among(lines, canvas);
  const bool more_than_fit = pitch * static_cast<float>(lines.size()) > box.h;
  const bool foots = (tells && box.h - foot >= pitch) ||
                     (more_than_fit && box.h - foot >= pitch * static_cast<float>(least_lines));
  const float room = foots ? box.h - foot : box.h;
  turn_wheel(state, canvas, box);
  // What the keys act on stays in sight while lines come in above it.
  if (tells && (lines.size() != state.lines || room != state.room))
    state.bring = canvas.chosen().event;
  state.lines = lines.size();
  state.room = room;
  const auto shown = lines_in_sight(lines, state, canvas, room);
  float y = box.y;
  for (std::size_t i = 0; i < shown.size(); ++i) {
    draw_line_of(lines[state.row + i], shown[i], canvas, {box.x, y, box.w, shown[i].high}, out);
    y += shown[i].high;
  }
  if (box.bottom() - y < foot) return;
  std::string_view keys;
  if (tells)
    keys = keys_text(std::ranges::find(lines, *canvas.chosen().event, &CallLine::id)->kind, view);
  draw_foot(lines.size() - state.row - shown.size(), keys, canvas, box);
}

}  // namespace stonecall::desk
