#include "console/desk/heard.hpp"

#include <algorithm>
#include <array>
#include <cmath>
#include <string_view>
#include <utility>

#include <GLFW/glfw3.h>
#include <fmt/format.h>

#include "console/desk/deciding.hpp"
#include "console/desk/fact_text.hpp"
#include "protocol/utf8.hpp"

namespace stonecall::desk {
namespace {

using picture::HeardLine;
using protocol::Outcome;

constexpr float strip_high = 26;  // design pixels; with the gap above it

void choose(const HeardList& list, std::size_t row, HeardState& state, const Canvas& canvas,
            Commands& out) {
  Chosen chosen = canvas.chosen();
  chosen.event = list.line(row).event->id;
  out.push_back(ask::Choose{chosen});
  state.picked = 0;
}

void scroll(HeardList& list, const Canvas& canvas, bool over) {
  const double wheel = static_cast<double>(canvas.pointer().wheel * canvas.px(66));
  if (over && wheel != 0) list.move_to(list.scroll() - wheel);
  if (canvas.asked("heard.page_up")) list.move_to(list.scroll() - list.high() * 0.85);
  if (canvas.asked("heard.page_down")) list.move_to(list.scroll() + list.high() * 0.85);
  if (canvas.asked("heard.first")) list.move_to(0);
  if (canvas.asked("heard.follow")) list.move_to(list.total());
}

/// The next row (or the one before) with something to decide, round the end; none: nothing is open.
/// With nothing chosen from what is in sight on: the note just typed, not one of hours ago.
std::optional<std::size_t> open_row(const HeardList& list, std::optional<std::size_t> from,
                                    bool next, const View& view) {
  const std::size_t count = list.size(), step = next ? 1 : count - 1;
  const std::size_t in_sight = list.row_at(std::max(0.0, list.scroll()));
  std::size_t row = from.value_or(next ? (in_sight + count - 1) % count : in_sight);
  for (std::size_t looked = 0; looked < count; ++looked) {
    row = (row + step) % count;
    if (!undecided(view, list.line(row)).empty()) return row;
  }
  return std::nullopt;
}

/// The row above or below the chosen one; where none is chosen, or it was scrolled away from, the
/// nearest in sight, and the newest while the list follows.
std::size_t row_beside(const HeardList& list, std::optional<std::size_t> chosen, bool up,
                       bool following) {
  const std::size_t last = list.size() - 1;
  if (chosen && list.in_sight(*chosen))
    return up ? *chosen - std::min<std::size_t>(*chosen, 1) : std::min(*chosen + 1, last);
  if (following) return last;
  const double edge = up ? list.scroll() + list.high() - 1 : list.scroll();
  return std::min(list.row_at(std::max(0.0, edge)), last);
}

/// Keys walk from row to row. Returns the row chosen, as it is from the next frame on.
std::optional<std::size_t> walk(HeardList& list, const View& view, HeardState& state,
                                const Canvas& canvas, Commands& out) {
  std::optional<std::size_t> chosen;
  if (canvas.chosen().event) chosen = list.row_of(*canvas.chosen().event, state.list.chosen_row);
  // Once chosen a line is higher: it says what can be done to it.
  if (std::exchange(state.bring, false) && chosen) list.bring(*chosen);
  const auto go_to = [&](std::size_t row) {
    choose(list, row, state, canvas, out);
    list.bring(row);
    state.bring = true;
    chosen = row;
  };
  const bool up = canvas.asked("heard.up"), down = canvas.asked("heard.down");
  if (up || down) {
    go_to(row_beside(list, chosen, up, state.list.following));
  }
  const bool next = canvas.asked("heard.next_open");
  if (next || canvas.asked("heard.open_before"))
    if (const auto row = open_row(list, chosen, next, view)) go_to(*row);
  return chosen;
}

void decide_by_key(const View& view, const HeardLine& line, HeardState& state, const Canvas& canvas,
                   Commands& out) {
  const auto open = undecided(view, line);
  if (!open.empty()) state.picked = std::min(state.picked, open.size() - 1);
  if (canvas.asked("heard.chip_left") && state.picked > 0) --state.picked;
  if (canvas.asked("heard.chip_right") && state.picked + 1 < open.size()) ++state.picked;
  if (open.empty()) return;
  const protocol::Uuid& note = line.event->id;
  const Proposal& picked = *open[state.picked];
  if (canvas.asked("heard.accept")) decide(note, picked, Outcome::accepted, out);
  if (canvas.asked("heard.decline")) decide(note, picked, Outcome::declined, out);
  if (canvas.asked("heard.accept_all"))
    for (const Proposal* each : open) decide(note, *each, Outcome::accepted, out);
  if (canvas.asked("heard.edit")) out.push_back(ask::EditReading{note, picked});
}

/// Words are put right in the entry line, values on a sheet; of calls what was sent stands.
void put_right_by_key(const HeardLine& line, const Canvas& canvas, Commands& out) {
  const auto& body = line.event->body;
  const bool worded = std::holds_alternative<protocol::VoiceNote>(body) ||
                      std::holds_alternative<protocol::Remark>(body);
  const bool amend = canvas.asked("heard.amend");
  if (amend && worded) out.push_back(ask::AmendText{line.event->id, line_text(*line.event)});
  if ((amend && !worded) || canvas.asked("heard.open"))
    out.push_back(ask::OpenLine{line.event->id});
  if (canvas.asked("heard.retract") && !line.retracted)
    out.push_back(ask::OpenLine{line.event->id, true});
}

/// What keys do to the chosen line.
void answer_line_keys(const View& view, const HeardLine& line, HeardState& state,
                      const Canvas& canvas, Commands& out) {
  constexpr std::size_t most_pinned = 200;  // bytes
  decide_by_key(view, line, state, canvas, out);
  if (canvas.asked("heard.pin")) {
    std::string words(protocol::utf8::beginning(line_text(*line.event), most_pinned));
    out.push_back(
        ask::Post{protocol::Remark{std::move(words), line.event->id, true}, std::nullopt});
  }
  put_right_by_key(line, canvas, out);
  if (canvas.asked("heard.go")) out.push_back(ask::Seek{line.event->at.instant});
  if (canvas.asked("heard.copy"))
    out.push_back(ask::CopyText{fmt::format(
        "{} {}\t{}\t{}", canvas.clock().seconds(line.event->at.instant), canvas.clock().zone(),
        speaker_of(*line.event), shown_words(view, line, canvas.clock(), state.list.looked_up))});
}

/// A key that posts at once, with no sheet or words that say of what.
bool posts_at_once(const Canvas& canvas) {
  return std::ranges::any_of(std::to_array<std::string_view>({"heard.accept", "heard.decline",
                                                              "heard.accept_all", "heard.pin"}),
                             [&](std::string_view key) { return canvas.asked(key); });
}

void accept_every(const View& view, const HeardList& list, Commands& out) {
  for (std::size_t row = 0; row < list.size(); ++row)
    for (const Proposal* proposal : undecided(view, list.line(row)))
      decide(list.line(row).event->id, *proposal, Outcome::accepted, out);
}

/// The rows in sight; one that is pressed is chosen, and of its proposals the one under the
/// pointer.
void draw_rows(const View& view, HeardList& list, std::optional<std::size_t> chosen,
               HeardState& state, Canvas& canvas, const Rect& place, bool over, Commands& out) {
  const Pointer& pointer = canvas.pointer();
  canvas.draw().PushClipRect({place.x - canvas.px(8), place.y},
                             {place.right() + canvas.px(8), place.bottom()}, true);
  std::size_t row = list.row_at(std::max(0.0, list.scroll()));
  // A short list hangs from the top.
  float y =
      list.scroll() < 0
          ? place.y
          : static_cast<float>(static_cast<double>(place.y) + list.top_of(row) - list.scroll());
  for (; row < list.size() && y < place.bottom(); ++row) {
    const HeardRow laid = list.measured(row);
    const ImVec2 at{place.x, std::round(y)};
    draw_row(view, list.line(row), laid, list.columns(), at, place,
             {chosen == row, state.picked, state.filter.search}, canvas);
    const Rect whole{place.x, at.y, place.w - canvas.px(10), laid.height};
    if (over && pointer.pressed && whole.contains(pointer.at)) {
      choose(list, row, state, canvas, out);
      state.picked = proposal_at(laid, at, pointer.at).value_or(0);
    }
    y += laid.height;
  }
  canvas.draw().PopClipRect();
}

/// Where in the whole list: a thin mark at the right, to be dragged.
void draw_scroll_mark(HeardList& list, Canvas& canvas, const Rect& place, bool over) {
  const double total = std::max(list.total(), 1.0), high = list.high();
  if (total <= high) return;
  const Pointer& pointer = canvas.pointer();
  const float thumb = std::max(canvas.px(24), static_cast<float>(high / total) * place.h);
  const float at =
      static_cast<float>(std::clamp(list.scroll() / (total - high), 0.0, 1.0)) * (place.h - thumb);
  const Rect grip{place.right() - canvas.px(10), place.y, canvas.px(12), place.h};
  const bool hold = pointer.held && grip.contains({grip.x + 1, pointer.at.y}) &&
                    pointer.at.x > grip.x - canvas.px(30);
  canvas.fill({place.right() - canvas.px(3), place.y + at, canvas.px(3), thumb},
              hold ? Ink::ink : Ink::edge, canvas.px(1.5F));
  const bool begins = over && pointer.pressed && grip.contains(pointer.at);
  if (!begins && !(hold && pointer.moved.y != 0)) return;
  const double part =
      static_cast<double>((pointer.at.y - place.y - thumb / 2) / std::max(1.0F, place.h - thumb));
  list.move_to(part * (total - high));
}

/// Told below the list while it does not follow; a press follows again.
void draw_looking_back(HeardList& list, std::size_t added, Canvas& canvas) {
  const Rect& area = canvas.area();
  const float high = canvas.px(strip_high);
  const Rect strip{area.x, area.bottom() - high + canvas.px(4), area.w, high - canvas.px(4)};
  canvas.fill(strip, Ink::panel, canvas.px(3));
  const float baseline = canvas.baseline_in(strip.y, strip.h, Type::fine);
  float x = strip.x + canvas.px(8);
  x += canvas.text({x, baseline}, {Type::fine, Weight::semibold}, Ink::ink, "Looking back");
  if (added > 0)
    canvas.text({x + canvas.px(10), baseline}, {Type::fine}, Ink::rust,
                fmt::format("{} new below", added));
  canvas.text({strip.right() - canvas.px(8), baseline}, {Type::fine}, Ink::soft,
              "End follows what comes in", Align::right);
  if (canvas.press("follow", strip)) list.move_to(list.total());
}

}  // namespace

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
  static const picture::Picture nothing;
  const picture::Picture& picture = view.picture ? *view.picture : nothing;
  const float top = draw_heard_heading(picture, state.filter, state.search, canvas, out);
  const float strip = state.list.following ? 0 : canvas.px(strip_high);
  const Rect place{area.x, top, area.w, std::max(1.0F, area.bottom() - top - strip)};
  HeardList list(view, state.filter, state.list, canvas, place);
  if (list.empty()) {
    const std::string words =
        state.filter.any() && !picture.heard.empty()
            ? "No line passes " + filter_words(state.filter) + ". Esc shows all."
            : std::string("Nothing heard yet.");
    canvas.paragraph({place.x, place.y + canvas.px(24)}, {Type::text}, Ink::soft, words, place.w);
    state.list.following = true;
    return out;
  }

  const bool over = canvas.pointer().over && place.contains(canvas.pointer().at);
  scroll(list, canvas, over);
  const std::optional<std::size_t> chosen = walk(list, view, state, canvas, out);
  if (const auto show = std::exchange(state.show, std::nullopt))
    if (const auto row = list.row_of(*show, state.list.chosen_row))
      list.move_to(list.top_of(*row) - list.high() / 3);
  // Nobody decides on a line that was scrolled away from: it comes back, and the key is for later.
  if (chosen && posts_at_once(canvas) && !list.in_sight(*chosen))
    list.bring(*chosen);
  else if (chosen)
    answer_line_keys(view, list.line(*chosen), state, canvas, out);
  if (canvas.asked("heard.accept_every")) accept_every(view, list, out);

  draw_rows(view, list, chosen, state, canvas, place, over, out);
  draw_scroll_mark(list, canvas, place, over);
  if (!state.list.following) {
    const std::size_t lines = picture.heard.size();
    draw_looking_back(list, lines - std::min(lines, state.list.seen_lines), canvas);
  }
  return out;
}

}  // namespace stonecall::desk
