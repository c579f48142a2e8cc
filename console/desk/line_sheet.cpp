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

}  // namespace

void open_line(LineState& state, const ask::OpenLine& wish) {
  if (state.event != wish.event) state = {};
  state.event = wish.event;
  state.typing = false;
  state.fault.clear();
  state.row = 0;
  state.retracting.reset();
  if (wish.retract) {
    state.retracting = wish.event;
    state.typed = state.why;
    state.typing = state.take_keyboard = true;
  }
}

Commands draw_line(const View& view, LineState& state, Canvas& canvas) {
  Commands out;
  const Fonts& f = canvas.fonts();
  follow(view, state);
  if (canvas.asked("line.leave")) {
    if (state.retracting) {
      close(state, out);
      return out;
    }
    if (state.typing) {
      state.typing = false;
      state.fault.clear();
    } else if (!state.changes.empty()) {
      state.changes.clear();
      state.fault.clear();
    } else {
      close(state, out);
      return out;
    }
  }
  if (state.parts.empty()) {
    Rect inner = lay_sheet(canvas, 480, 130);
    float y = sheet_title(canvas, inner, "Line", "Esc leaves");
    canvas.paragraph({inner.x, y + canvas.px(16)}, text_font, Ink::soft,
                     "This line is not among what was known then.", inner.w);
    return out;
  }
  auto rows = rows_of(state, canvas.clock());
  std::vector<std::size_t> standing;
  for (std::size_t i = 0; i < rows.size(); ++i)
    if (stands(rows[i])) standing.push_back(i);
  if (state.retracting) state.row = standing.size() - 1;
  state.row = std::min(state.row, standing.size() - 1);
  auto here = [&]() -> const Row& { return rows[standing[state.row]]; };
  auto act = [&] {
    auto moved = [&](auto&& move) {
      if (state.retracting) return;
      if (state.typing) take_typed(state, here(), canvas.clock());
      if (!state.typing) move();
    };
    if (canvas.asked("line.down"))
      moved([&] { state.row = std::min(state.row + 1, standing.size() - 1); });
    if (canvas.asked("line.up")) moved([&] { state.row -= std::min<std::size_t>(state.row, 1); });
    if (canvas.asked("line.clear") && here().kind == Row::Kind::member) {
      state.typed.clear();
      take_typed(state, here(), canvas.clock());
    }
    if (canvas.asked("line.retract")) {
      const Part* part = here().part ? here().part : &state.parts.front();
      if (!part->retracted) {
        state.retracting = part->event->id;
        state.typed = state.why;
        state.typing = state.take_keyboard = true;
        state.row = standing.size() - 1;
      }
    } else if (canvas.asked("line.type")) {
      if (state.retracting) {
        state.why = state.typed;
        out.push_back(ask::Post{protocol::Retract{*state.retracting, reason(state)}, {}});
        close(state, out);
        return;
      }
      if (state.typing) {
        take_typed(state, here(), canvas.clock());
      } else {
        const Row& row = here();
        std::string stood = row.kind == Row::Kind::reason
                                ? state.why
                                : member_text(value_of(state, *row.part, *row.member),
                                              row.member->form, canvas.clock());
        state.typed = stood == "–" ? "" : stood;
        state.typing = state.take_keyboard = true;
        state.fault.clear();
      }
    }
    if (canvas.asked("line.post") && !state.retracting) {
      if (state.typing) take_typed(state, here(), canvas.clock());
      if (!state.typing) post(state, out);
    }
  };
  // What stands in an open cell is known once it was drawn: letters and Enter may come in one
  // frame.
  const bool was_typing = state.typing;
  if (!was_typing) act();
  if (!state.event) return out;

  const float pitch = canvas.px(22);
  Rect inner = lay_sheet(canvas, 760, 36 + 44 + 30 + 22 * static_cast<float>(rows.size()));
  float y =
      sheet_title(canvas, inner, "Line",
                  state.changes.empty() ? "as it stands, and what was done to it"
                                        : fmt::format("{} not posted yet", state.changes.size()));
  float foot = inner.bottom() - canvas.px(24);
  auto fit = static_cast<std::size_t>(std::max(1.0F, (foot - y) / pitch));
  // The head of a part comes into sight with its first member.
  std::size_t at = standing[state.row];
  std::size_t head = state.row == 0 ? 0 : at;
  state.first = first_shown(first_shown(state.first, head, rows.size(), fit), at, rows.size(), fit);
  const float value_x = inner.x + std::min(canvas.px(150), std::round(inner.w * 0.32F));
  std::size_t last = std::min(rows.size(), state.first + fit);
  for (std::size_t i = state.first; i < last; ++i, y += pitch) {
    const Row& row = rows[i];
    Rect box{inner.x, y, inner.w, pitch};
    float base = canvas.baseline_in(y, pitch, Type::text);
    bool ours = i == at;
    if (ours)
      canvas.fill({box.x - canvas.px(6), box.y, box.w + canvas.px(12), box.h}, Ink::chosen,
                  canvas.px(3));
    auto put = [&](float x, Font font, Ink ink, const std::string& text) {
      std::string shown = ellipsis(f, font, text, inner.right() - x);
      canvas.text({x, base}, font, ink, shown);
      if (shown != text) canvas.tip(box, text);
    };
    switch (row.kind) {
      case Row::Kind::title:
        put(inner.x, part_font, row.ink, row.text);
        canvas.rule(inner.x, inner.right(), box.bottom() - canvas.px(1));
        break;
      case Row::Kind::past:
        put(inner.x, fine, row.ink, row.text);
        break;
      case Row::Kind::member:
      case Row::Kind::reason: {
        const bool is_reason = row.kind == Row::Kind::reason;
        std::string label = is_reason ? state.retracting ? "take back, because" : "why"
                                      : std::string(row.member->words);
        canvas.text({inner.x, base}, text_font,
                    is_reason && state.retracting ? Ink::rust : Ink::soft,
                    ellipsis(f, text_font, label, value_x - inner.x - canvas.px(8)));
        bool draft = !is_reason &&
                     state.changes.contains({row.part->event->id, std::string(row.member->name)});
        if (ours && state.typing) {
          Rect cell{value_x - canvas.px(4), y + canvas.px(1),
                    inner.right() - value_x + canvas.px(4), pitch - canvas.px(2)};
          canvas.fill(cell, Ink::ground);
          auto typed = canvas.field("value", cell.inset(canvas.px(4), 0), state.typed,
                                    is_reason ? "may be left empty" : "", text_font,
                                    {.take_keyboard = state.take_keyboard, .select_all = true});
          if (typed.active) state.take_keyboard = false;
          canvas.outline(cell, Ink::focus, canvas.px(2), std::max(1.0F, f.scale()));
        } else if (is_reason) {
          put(value_x, text_font, state.why.empty() ? Ink::soft : Ink::ink,
              state.why.empty() ? "may be left empty" : state.why);
        } else {
          std::string text = member_text(value_of(state, *row.part, *row.member), row.member->form,
                                         canvas.clock());
          put(value_x, draft ? part_font : text_font,
              draft         ? Ink::rust
              : text == "–" ? Ink::soft
                            : Ink::ink,
              text);
        }
        break;
      }
    }
    if (stands(row) && canvas.press("row", box) && !state.typing)
      state.row = static_cast<std::size_t>(std::ranges::find(standing, i) - standing.begin());
  }
  if (was_typing) act();
  if (!state.event) return out;
  if (!state.typing) state.take_keyboard = false;
  if (canvas.pointer().over && canvas.pointer().wheel != 0 && !state.typing) {
    if (canvas.pointer().wheel < 0)
      state.row = std::min(state.row + 1, standing.size() - 1);
    else
      state.row -= std::min<std::size_t>(state.row, 1);
  }

  std::string hint = !state.fault.empty()    ? state.fault
                     : state.retracting      ? "Enter takes it back    Esc leaves it as it is"
                     : state.typing          ? "Enter takes what is typed    Esc leaves it"
                     : state.changes.empty() ? "Enter types a value    x takes back    Esc leaves"
                                             : "Ctrl+Enter posts the amendment    Esc drops it";
  canvas.text({inner.x, inner.bottom() - canvas.px(4)}, fine,
              state.fault.empty() ? Ink::soft : Ink::rust, ellipsis(f, fine, hint, inner.w));
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
