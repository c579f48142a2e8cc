#include "console/desk/line_sheet.hpp"

#include <algorithm>
#include <cmath>

#include <GLFW/glfw3.h>
#include <fmt/format.h>

#include "console/desk/alteration_text.hpp"
#include "console/desk/fact_text.hpp"
#include "console/desk/sheet.hpp"

namespace stonecall::desk {
namespace {

using protocol::Json;
using protocol::Uuid;
using Part = LineState::Part;

constexpr Font text_font{Type::text};
constexpr Font fine{Type::fine};
constexpr Font part_font{Type::text, Weight::semibold};

/// A row of the sheet. What can be stood on has a member, or is the reason.
struct Row {
  enum class Kind { title, member, past, reason };
  Kind kind{};
  const Part* part = nullptr;
  const Member* member = nullptr;
  std::string text;
  Ink ink = Ink::ink;
};

protocol::EventPtr reading_event(const picture::HeardLine& line, const picture::ReadingMade& made) {
  protocol::Event event;
  event.id = made.id;
  event.at = line.event->at;
  event.from = made.from;
  event.body = made.reading;
  return std::make_shared<const protocol::Event>(std::move(event));
}

void follow(const View& view, LineState& state) {
  if (state.of == view.picture && state.of_event == state.event) return;
  state.of = view.picture;
  state.of_event = state.event;
  state.parts.clear();
  if (!view.picture || !state.event) return;
  for (const picture::HeardLine& line : view.picture->heard) {
    if (line.event->id != *state.event) continue;
    state.parts.push_back({line.event, speaker_of(*line.event), line.retracted,
                           picture::alterations(*view.picture, line.event->id)});
    for (const picture::ReadingMade& made : line.readings) {
      if (made.reading.outcome == protocol::Outcome::declined) continue;
      state.parts.push_back({reading_event(line, made), made.from, made.retracted,
                             picture::alterations(*view.picture, made.id)});
    }
    break;
  }
}

Json changes_for(const LineState& state, const Uuid& id) {
  Json changes = Json::object();
  for (const auto& [key, value] : state.changes)
    if (key.first == id) changes[key.second] = value;
  return changes;
}

/// The event as it would stand.
protocol::Result<protocol::Event> changed(const LineState& state, const Part& part) {
  return protocol::amended(*part.event, changes_for(state, part.event->id));
}

Json value_of(const LineState& state, const Part& part, const Member& member) {
  auto draft = state.changes.find({part.event->id, std::string(member.name)});
  if (draft != state.changes.end()) return draft->second;
  Json members = picture::members_of(*part.event);
  auto found = members.find(std::string(member.name));
  return found == members.end() ? Json() : *found;
}

std::vector<Row> rows_of(const LineState& state, const ClockText& clock) {
  std::vector<Row> rows;
  for (const Part& part : state.parts) {
    std::string title = part.title + ": " + line_text(*part.event);
    if (part.retracted) title += " (taken back)";
    rows.push_back({Row::Kind::title, &part, nullptr, std::move(title), Ink::ink});
    if (!part.retracted)
      for (const Member& member : members_to_amend(*part.event))
        rows.push_back({Row::Kind::member, &part, &member, {}, Ink::ink});
    for (const picture::Alteration& each : part.history)
      rows.push_back({Row::Kind::past, &part, nullptr, alteration_text(each, clock),
                      each.in_force && each.refused.empty() ? Ink::ink : Ink::soft});
  }
  rows.push_back({Row::Kind::reason, nullptr, nullptr, {}, Ink::ink});
  return rows;
}

bool stands(const Row& row) {
  return row.kind == Row::Kind::member || row.kind == Row::Kind::reason;
}

void close(LineState& state, Commands& out) {
  state = {};
  out.push_back(ask::CloseSheet{});
}

void take_typed(LineState& state, const Row& row, const ClockText& clock) {
  if (row.kind == Row::Kind::reason) {
    state.why = state.typed;
  } else {
    auto value = member_value(state.typed, row.member->form, clock);
    if (!value) {
      state.fault = protocol::to_string(value.error());
      return;
    }
    const std::pair key{row.part->event->id, std::string(row.member->name)};
    state.changes.erase(key);
    if (value_of(state, *row.part, *row.member) != *value) state.changes[key] = *value;
  }
  state.typing = false;
  state.fault.clear();
}

std::optional<std::string> reason(const LineState& state) {
  return state.why.find_first_not_of(' ') == std::string::npos ? std::nullopt
                                                               : std::optional(state.why);
}

/// One amendment for each event that is put right; nothing where one of them could not stand.
void post(LineState& state, Commands& out) {
  Commands posts;
  for (const Part& part : state.parts) {
    Json changes = changes_for(state, part.event->id);
    if (changes.empty()) continue;
    if (auto made = changed(state, part); !made) {
      state.fault = protocol::to_string(made.error());
      return;
    }
    posts.push_back(
        ask::Post{protocol::Amend{part.event->id, std::move(changes), reason(state)}, {}});
  }
  if (posts.empty()) return;
  out.insert(out.end(), posts.begin(), posts.end());
  close(state, out);
}

/// All rows of the sheet, and which of them can be stood on.
struct SheetRows {
  std::vector<Row> all;
  std::vector<std::size_t> standing;

  const Row& at(const LineState& state) const { return all[standing[state.row]]; }
};

SheetRows sheet_rows(const LineState& state, const ClockText& clock) {
  SheetRows rows{rows_of(state, clock), {}};
  for (std::size_t i = 0; i < rows.all.size(); ++i)
    if (stands(rows.all[i])) rows.standing.push_back(i);
  return rows;
}

void go_down(LineState& state, const SheetRows& rows) {
  state.row = std::min(state.row + 1, rows.standing.size() - 1);
}

void go_up(LineState& state) {
  state.row -= std::min<std::size_t>(state.row, 1);
}

void ask_why(LineState& state, const Uuid& event) {
  state.retracting = event;
  state.typed = state.why;
  state.typing = state.take_keyboard = true;
}

/// First what is being typed, then what is not posted, then the sheet.
void leave(LineState& state, Commands& out) {
  if (state.retracting || (!state.typing && state.changes.empty())) return close(state, out);
  if (!state.typing) state.changes.clear();
  state.typing = false;
  state.fault.clear();
}

void begin_typing(LineState& state, const Row& row, const ClockText& clock) {
  const std::string stood =
      row.kind == Row::Kind::reason
          ? state.why
          : member_text(value_of(state, *row.part, *row.member), row.member->form, clock);
  state.typed = stood == "–" ? "" : stood;
  state.typing = state.take_keyboard = true;
  state.fault.clear();
}

void take_back(LineState& state, Commands& out) {
  state.why = state.typed;
  out.push_back(ask::Post{protocol::Retract{*state.retracting, reason(state)}, {}});
  close(state, out);
}

void act(LineState& state, const SheetRows& rows, const Canvas& canvas, Commands& out) {
  const auto take = [&] { take_typed(state, rows.at(state), canvas.clock()); };
  // What does not hold keeps the cell open.
  const auto taken = [&] {
    if (state.typing) take();
    return !state.typing;
  };
  if (canvas.asked("line.down") && !state.retracting && taken()) go_down(state, rows);
  if (canvas.asked("line.up") && !state.retracting && taken()) go_up(state);
  if (canvas.asked("line.clear") && rows.at(state).kind == Row::Kind::member) {
    state.typed.clear();
    take();
  }
  if (canvas.asked("line.retract")) {
    const Part* part = rows.at(state).part;
    if (!part) part = &state.parts.front();
    if (!part->retracted) {
      ask_why(state, part->event->id);
      state.row = rows.standing.size() - 1;
    }
  } else if (canvas.asked("line.type")) {
    if (state.retracting) return take_back(state, out);
    if (state.typing)
      take();
    else
      begin_typing(state, rows.at(state), canvas.clock());
  }
  if (canvas.asked("line.post") && !state.retracting && taken()) post(state, out);
}

/// A row's place on the sheet.
struct RowPlace {
  Rect box;
  float base = 0;     ///< baseline
  float value_x = 0;  ///< where values begin
  bool chosen = false;
};

void draw_text(const RowPlace& place, Canvas& canvas, float x, Font font, Ink ink,
               const std::string& text) {
  const std::string shown = ellipsis(canvas.fonts(), font, text, place.box.right() - x);
  canvas.text({x, place.base}, font, ink, shown);
  if (shown != text) canvas.tip(place.box, text);
}

void draw_open_cell(const RowPlace& place, LineState& state, Canvas& canvas, bool may_be_empty) {
  const Rect& box = place.box;
  const Rect cell{place.value_x - canvas.px(4), box.y + canvas.px(1),
                  box.right() - place.value_x + canvas.px(4), box.h - canvas.px(2)};
  canvas.fill(cell, Ink::ground);
  const auto typed = canvas.field("value", cell.inset(canvas.px(4), 0), state.typed,
                                  may_be_empty ? "may be left empty" : "", text_font,
                                  {.take_keyboard = state.take_keyboard, .select_all = true});
  if (typed.active) state.take_keyboard = false;
  canvas.outline(cell, Ink::focus, canvas.px(2), std::max(1.0F, canvas.fonts().scale()));
}

/// A member or the reason: its name, and its value or the cell where that is typed.
void draw_value(const RowPlace& place, const Row& row, LineState& state, Canvas& canvas) {
  const bool is_reason = row.kind == Row::Kind::reason;
  const std::string label =
      is_reason ? state.retracting ? "take back, because" : "why" : std::string(row.member->words);
  canvas.text(
      {place.box.x, place.base}, text_font, is_reason && state.retracting ? Ink::rust : Ink::soft,
      ellipsis(canvas.fonts(), text_font, label, place.value_x - place.box.x - canvas.px(8)));
  if (place.chosen && state.typing) return draw_open_cell(place, state, canvas, is_reason);
  if (is_reason) {
    const bool empty = state.why.empty();
    return draw_text(place, canvas, place.value_x, text_font, empty ? Ink::soft : Ink::ink,
                     empty ? "may be left empty" : state.why);
  }
  const bool is_draft =
      state.changes.contains({row.part->event->id, std::string(row.member->name)});
  const std::string text =
      member_text(value_of(state, *row.part, *row.member), row.member->form, canvas.clock());
  draw_text(place, canvas, place.value_x, is_draft ? part_font : text_font,
            is_draft      ? Ink::rust
            : text == "–" ? Ink::soft
                          : Ink::ink,
            text);
}

void draw_row(const RowPlace& place, const Row& row, LineState& state, Canvas& canvas) {
  const Rect& box = place.box;
  if (place.chosen) canvas.chosen_ground(box);
  switch (row.kind) {
    case Row::Kind::title:
      draw_text(place, canvas, box.x, part_font, row.ink, row.text);
      canvas.rule(box.x, box.right(), box.bottom() - canvas.px(1));
      break;
    case Row::Kind::past:
      draw_text(place, canvas, box.x, fine, row.ink, row.text);
      break;
    case Row::Kind::member:
    case Row::Kind::reason:
      draw_value(place, row, state, canvas);
      break;
  }
}

void draw_rows(const SheetRows& rows, LineState& state, Canvas& canvas, const Rect& inner,
               float y) {
  const float pitch = canvas.px(22), foot = inner.bottom() - canvas.px(24);
  const auto fit = static_cast<std::size_t>(std::max(1.0F, (foot - y) / pitch));
  const std::size_t count = rows.all.size(), at = rows.standing[state.row];
  // The head of a part comes into sight with its first member.
  const std::size_t head = state.row == 0 ? 0 : at;
  state.first = first_shown(first_shown(state.first, head, count, fit), at, count, fit);
  const float value_x = inner.x + std::min(canvas.px(150), std::round(inner.w * 0.32F));
  const std::size_t last = std::min(count, state.first + fit);
  for (std::size_t i = state.first; i < last; ++i, y += pitch) {
    const Rect box{inner.x, y, inner.w, pitch};
    draw_row({box, canvas.baseline_in(y, pitch, Type::text), value_x, i == at}, rows.all[i], state,
             canvas);
    if (stands(rows.all[i]) && canvas.press("row", box) && !state.typing)
      state.row =
          static_cast<std::size_t>(std::ranges::find(rows.standing, i) - rows.standing.begin());
  }
}

/// What keys do here; or what is wrong with what was typed.
void draw_hint(const LineState& state, Canvas& canvas, const Rect& inner) {
  const std::string hint = !state.fault.empty() ? state.fault
                           : state.retracting   ? "Enter takes it back    Esc leaves it as it is"
                           : state.typing       ? "Enter takes what is typed    Esc leaves it"
                           : state.changes.empty()
                               ? "Enter types a value    x takes back    Esc leaves"
                               : "Ctrl+Enter posts the amendment    Esc drops it";
  canvas.text({inner.x, inner.bottom() - canvas.px(4)}, fine,
              state.fault.empty() ? Ink::soft : Ink::rust,
              ellipsis(canvas.fonts(), fine, hint, inner.w));
}

void draw_unknown_line(Canvas& canvas) {
  const Rect inner = lay_sheet(canvas, 480, 130);
  const float y = sheet_title(canvas, inner, "Line", "Esc leaves");
  canvas.paragraph({inner.x, y + canvas.px(16)}, text_font, Ink::soft,
                   "This line is not among what was known then.", inner.w);
}

}  // namespace

void open_line(LineState& state, const ask::OpenLine& wish) {
  if (state.event != wish.event) state = {};
  state.event = wish.event;
  state.typing = false;
  state.fault.clear();
  state.row = 0;
  state.retracting.reset();
  if (wish.retract) ask_why(state, wish.event);
}

Commands draw_line(const View& view, LineState& state, Canvas& canvas) {
  Commands out;
  follow(view, state);
  if (canvas.asked("line.leave")) leave(state, out);
  if (!state.event) return out;
  if (state.parts.empty()) {
    draw_unknown_line(canvas);
    return out;
  }
  const SheetRows rows = sheet_rows(state, canvas.clock());
  const std::size_t last = rows.standing.size() - 1;
  state.row = state.retracting ? last : std::min(state.row, last);
  // What stands in an open cell is known once it was drawn: letters and Enter may come in one
  // frame.
  const bool was_typing = state.typing;
  if (!was_typing) act(state, rows, canvas, out);
  if (!state.event) return out;

  const Rect inner =
      lay_sheet(canvas, 760, 36 + 44 + 30 + 22 * static_cast<float>(rows.all.size()));
  const float y =
      sheet_title(canvas, inner, "Line",
                  state.changes.empty() ? "as it stands, and what was done to it"
                                        : fmt::format("{} not posted yet", state.changes.size()));
  draw_rows(rows, state, canvas, inner, y);
  if (was_typing) act(state, rows, canvas, out);
  if (!state.event) return out;
  if (!state.typing) {
    state.take_keyboard = false;
    if (canvas.pointer().over && canvas.pointer().wheel != 0)
      canvas.pointer().wheel < 0 ? go_down(state, rows) : go_up(state);
  }
  draw_hint(state, canvas, inner);
  return out;
}

std::span<const KeyLine> line_keys() {
  constexpr auto here = RegionId::line;
  static const std::vector<KeyLine> lines{
      {"line.up", "value before", {{GLFW_KEY_UP, 0}}, here, true},
      {"line.down", "value after", {{GLFW_KEY_DOWN, 0}}, here, true},
      {"line.type",
       "type the value, take what is typed",
       {{GLFW_KEY_ENTER, 0}, {GLFW_KEY_KP_ENTER, 0}},
       here,
       true},
      {"line.clear", "take the value away", {{GLFW_KEY_DELETE, 0}}, here},
      {"line.post",
       "post the changes as an amendment",
       {{GLFW_KEY_ENTER, GLFW_MOD_CONTROL}},
       here,
       true},
      {"line.retract", "take it back, with a reason", {{GLFW_KEY_X, 0}}, here},
      {"line.leave", "drop what is not posted; leave", {{GLFW_KEY_ESCAPE, 0}}, here, true},
  };
  return lines;
}

}  // namespace stonecall::desk
