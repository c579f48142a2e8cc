#include "console/desk/entry.hpp"

#include <algorithm>
#include <cmath>
#include <utility>

#include <GLFW/glfw3.h>
#include <boost/algorithm/string/predicate.hpp>

#include "console/desk/deciding.hpp"
#include "console/desk/fact_text.hpp"

namespace stonecall::desk {
namespace {

/// The field where nobody says which of several spoke: a name that no plan has.
constexpr std::string_view somebody_in_the_field = "FIELD";

constexpr Font entry_font{Type::lead};

/// The words in the line are one's own, not another's that are put right.
bool own_words(const EntryState& state) {
  return !state.editing && !state.amending;
}

bool is_blank(std::string_view text) {
  return text.find_first_not_of(' ') == std::string_view::npos;
}

std::string_view enter_words(const View& view, const EntryState& state) {
  if (!state.meanwhile.empty()) return "Enter amends it all the same, Esc leaves it";
  if (state.amending) return "Enter amends it, Esc leaves it";
  if (state.editing) return "Enter edits, Esc leaves it";
  if (state.accepts_sure) return "Enter notes it; sure readings count by themselves (F10)";
  return view.mode == Mode::replay ? "Enter notes it, Ctrl+Enter pins it as a remark"
                                   : "Enter notes it";
}

/// What keys do here, at the right end; returns how far the line may go.
float draw_key_words(const View& view, const EntryState& state, Canvas& canvas, float baseline) {
  constexpr Font font{Type::fine};
  constexpr float least_line = 0.4F;  // of the width; what Enter does is said beside such a line
  const Rect& area = canvas.area();
  float right = area.right();
  right -= canvas.text({right, baseline}, font, Ink::soft, "F1 keys", Align::right) + canvas.px(14);
  const std::string_view enter = enter_words(view, state);
  if (right - area.x - canvas.fonts().width(font, enter) >= area.w * least_line)
    right -= canvas.text({right, baseline}, font, Ink::soft, enter, Align::right) + canvas.px(20);
  return right;
}

/// The sign where typed words go, and whose words are put right; returns where the line begins.
float draw_sign(const EntryState& state, Canvas& canvas, float baseline) {
  const float x = canvas.area().x, size = canvas.px(5);
  const ImVec2 tip{x + size, baseline - canvas.fonts().cap_height(entry_font.type) / 2};
  const ImU32 colour = canvas.colour(state.active ? Ink::rust : Ink::soft);
  const float thick = std::max(1.5F, canvas.fonts().scale() * 2);
  canvas.draw().AddLine({x, tip.y - size}, tip, colour, thick);
  canvas.draw().AddLine(tip, {x, tip.y + size}, colour, thick);
  const float begin = x + canvas.px(18);
  if (own_words(state)) return begin;
  return begin +
         canvas.text({begin, baseline}, {Type::fine, Weight::semibold}, Ink::rust,
                     !state.meanwhile.empty() ? state.meanwhile
                     : state.amending         ? "put right"
                                              : "edit reading") +
         canvas.px(12);
}

/// What the words seem to mean, as far as there is room for it beside them.
struct Chips {
  std::vector<std::string> words;
  float width = 0;
};

Chips chips_for(const EntryState& state, const Canvas& canvas, float room) {
  constexpr float most = 0.55F;  // of the room
  Chips chips;
  for (const Proposal& proposal : state.preview) {
    std::string words = chip_text(proposal.fact);
    const float width = canvas.chip_size({0, 0}, words).w + canvas.px(6);
    if (chips.width + width > room * most) break;
    chips.width += width;
    chips.words.push_back(std::move(words));
  }
  return chips;
}

void draw_chips(const Chips& chips, Canvas& canvas, float right) {
  const Rect& area = canvas.area();
  for (auto words = chips.words.rbegin(); words != chips.words.rend(); ++words) {
    const Rect size = canvas.chip_size({0, 0}, *words);
    right -= size.w + canvas.px(6);
    canvas.chip({right, area.y + std::round((area.h - size.h) / 2)}, *words, true);
  }
}

/// Lines typed before, by the arrows.
void recall(EntryState& state, const Canvas& canvas) {
  if (!own_words(state)) return;
  if (canvas.asked("entry.older") && state.recalled < state.said.size()) {
    if (state.recalled == 0) state.kept = state.typed;
    state.replacement = state.said[state.said.size() - ++state.recalled];
  }
  if (canvas.asked("entry.newer") && state.recalled > 0) {
    state.replacement =
        --state.recalled == 0 ? state.kept : state.said[state.said.size() - state.recalled];
  }
}

void read_what_is_typed(const View& view, EntryState& state, const ReadSpeech& read) {
  if (!read || state.typed == state.previewed) return;
  state.previewed = state.typed;
  const TypedSpeech said = own_words(state) ? typed_speech(view, state.adviser, state.typed)
                                            : TypedSpeech{{}, state.typed};
  state.preview =
      said.words.empty() || !said.of_field ? std::vector<Proposal>{} : read(said.words, view);
}

/// What was half typed before other words were taken in comes back.
void empty_line(EntryState& state) {
  state.replacement = own_words(state) ? std::string() : std::exchange(state.kept, {});
  state.kept.clear();
  state.recalled = 0;
  state.editing.reset();
  state.amending.reset();
  state.meanwhile.clear();
}

/// Whether the line is no longer as it was taken in; from here on it is taken as it is now.
bool altered_meanwhile(const View& view, EntryState& state) {
  if (!view.picture) return false;
  const auto& heard = view.picture->heard;
  const auto line = std::find_if(heard.rbegin(), heard.rend(), [&](const picture::HeardLine& each) {
    return each.event->id == state.amending->target;
  });
  if (line == heard.rend()) return false;
  const bool taken_back = line->retracted && state.meanwhile != "taken back meanwhile";
  const std::string words = line_text(*line->event);
  const bool other_words = words != state.amending->text && words != state.typed;
  if (!taken_back && !other_words) return false;
  state.amending->text = words;
  state.meanwhile = line->retracted ? "taken back meanwhile" : "amended meanwhile";
  return true;
}

void amend(const View& view, EntryState& state, Commands& out) {
  if (altered_meanwhile(view, state)) return;
  if (state.typed != state.amending->text)
    out.push_back(ask::Post{
        protocol::Amend{state.amending->target, protocol::Json{{"text", state.typed}}, {}},
        std::nullopt});
  empty_line(state);
  out.push_back(ask::Focus{RegionId::heard});
}

/// What cannot be read stays in the line to be typed otherwise.
void edit(EntryState& state, Commands& out) {
  if (state.preview.empty()) return;
  Proposal edited = state.preview.front();
  edited.words = state.editing->proposal.words;
  decide(state.editing->note, edited, protocol::Outcome::edited, out);
  empty_line(state);
}

void note(const View& view, EntryState& state, Commands& out) {
  const TypedSpeech said = typed_speech(view, state.adviser, state.typed);
  out.push_back(ask::Post{protocol::VoiceNote{std::string(said.words), said.speaker, std::nullopt},
                          std::nullopt});
  state.said.push_back(state.typed);
  empty_line(state);
}

}  // namespace

TypedSpeech typed_speech(const View& view, const std::string& adviser, std::string_view typed) {
  TypedSpeech said{{}, typed};
  const protocol::Plan* plan = view.plan();
  if (!plan) {
    // Who is of the back room is not known before the server was heard. Taken for a word of theirs
    // a note would state nothing, also later.
    if (view.mode == Mode::live) said.speaker = somebody_in_the_field;
    return said;
  }
  const auto person = [&](std::string_view name) {
    return std::ranges::find_if(plan->people, [&](const protocol::Person& each) {
      return boost::algorithm::iequals(each.name, name);
    });
  };
  if (const std::size_t colon = typed.find(':'); colon != std::string_view::npos) {
    std::string_view name = typed.substr(0, colon);
    name.remove_prefix(std::min(name.find_first_not_of(' '), name.size()));
    const std::size_t words = typed.find_first_not_of(' ', colon + 1);
    if (const auto named = person(name);
        named != plan->people.end() && words != std::string_view::npos) {
      said.words = typed.substr(words);
      said.of_field = named->role == protocol::Side::field;
      if (named->name != adviser) said.speaker = named->name;
      return said;
    }
  }
  const auto sitting = person(adviser);
  if (sitting == plan->people.end() || sitting->role == protocol::Side::field) return said;
  const auto in_field = [](const protocol::Person& each) {
    return each.role == protocol::Side::field;
  };
  said.speaker = std::ranges::count_if(plan->people, in_field) == 1
                     ? std::ranges::find_if(plan->people, in_field)->name
                     : std::string(somebody_in_the_field);
  return said;
}

std::span<const KeyLine> entry_keys() {
  constexpr auto here = RegionId::entry;
  static const std::vector<KeyLine> lines{
      {"entry.send",
       "note what is typed",
       {{GLFW_KEY_ENTER, 0}, {GLFW_KEY_KP_ENTER, 0}},
       here,
       true},
      {"entry.remark",
       "pin what is typed to this moment, as a remark",
       {{GLFW_KEY_ENTER, GLFW_MOD_CONTROL}},
       here,
       true},
      {"entry.older", "line typed before", {{GLFW_KEY_UP, 0}}, here, true},
      {"entry.newer", "line typed after", {{GLFW_KEY_DOWN, 0}}, here, true},
      {"entry.leave", "back to Heard; what is typed stays", {{GLFW_KEY_ESCAPE, 0}}, here, true},
  };
  return lines;
}

void take_into_line(EntryState& state, std::string words) {
  state.kept = draft(state);
  state.recalled = 0;
  state.replacement = std::move(words);
}

const std::string& draft(const EntryState& state) {
  return state.recalled > 0 || state.editing || state.amending ? state.kept : state.typed;
}

Commands draw_entry(const View& view, EntryState& state, const ReadSpeech& read, Canvas& canvas) {
  Commands out;
  const Rect& area = canvas.area();
  const float baseline = canvas.baseline_in(area.y, area.h, entry_font.type);
  const float right = draw_key_words(view, state, canvas, baseline);
  const float x = draw_sign(state, canvas, baseline);
  const float room = right - x;
  const Chips chips = chips_for(state, canvas, room);

  recall(state, canvas);
  const Rect field{x, area.y, std::max(canvas.px(60), room - chips.width - canvas.px(12)), area.h};
  std::string hint = "what the field says, in plain words";
  if (canvas.fonts().width(entry_font, hint) > field.w) hint = "what the field says";
  const auto typed = canvas.field("entry", field, state.typed, hint, entry_font,
                                  {.take_keyboard = canvas.focused(),
                                   .give_up = !canvas.focused(),
                                   // Words taken in may be typed anew; what was half typed goes on.
                                   .select_all = !own_words(state),
                                   .replacement = &state.replacement});
  state.active = typed.active;
  if (typed.changed) state.recalled = 0;
  read_what_is_typed(view, state, read);
  draw_chips(chips, canvas, right);

  if (canvas.asked("entry.send") && !is_blank(state.typed)) {
    if (state.amending)
      amend(view, state, out);
    else if (state.editing)
      edit(state, out);
    else
      note(view, state, out);
  }
  if (canvas.asked("entry.remark") && own_words(state) && !is_blank(state.typed)) {
    out.push_back(ask::Post{protocol::Remark{state.typed, std::nullopt, true}, std::nullopt});
    empty_line(state);
  }
  if (canvas.asked("entry.leave")) {
    if (!own_words(state)) empty_line(state);
    out.push_back(ask::Focus{RegionId::heard});
  }
  return out;
}

}  // namespace stonecall::desk
