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

}  // namespace

TypedSpeech typed_speech(const View& view, const std::string& adviser, std::string_view typed) {
  TypedSpeech said{{}, typed};
  const protocol::Plan* plan = view.plan();
  if (!plan) return said;
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
  constexpr Font font{Type::lead};
  float baseline = canvas.baseline_in(area.y, area.h, font.type);

  float right = area.right();
  right -= canvas.text({right, baseline}, {Type::fine}, Ink::soft, "F1 keys", Align::right) +
           canvas.px(14);
  // What Enter does is said where there is room for it beside a line to type in.
  const std::string_view enter =
      state.amending              ? "Enter amends it, Esc leaves it"
      : state.editing             ? "Enter edits, Esc leaves it"
      : state.accepts_sure        ? "Enter notes it; sure readings count by themselves (F10)"
      : view.mode == Mode::replay ? "Enter notes it, Ctrl+Enter pins it as a remark"
                                  : "Enter notes it";
  constexpr float least_line = 0.4F;  // part of the width
  if (right - area.x - canvas.fonts().width({Type::fine}, enter) >= area.w * least_line)
    right -= canvas.text({right, baseline}, {Type::fine}, Ink::soft, enter, Align::right) +
             canvas.px(20);

  // The sign of the line: where typed words go.
  float sign = canvas.px(5);
  ImVec2 tip{area.x + sign, baseline - canvas.fonts().cap_height(font.type) / 2};
  ImU32 sign_colour = canvas.colour(state.active ? Ink::rust : Ink::soft);
  canvas.draw().AddLine({area.x, tip.y - sign}, tip, sign_colour,
                        std::max(1.5F, canvas.fonts().scale() * 2));
  canvas.draw().AddLine(tip, {area.x, tip.y + sign}, sign_colour,
                        std::max(1.5F, canvas.fonts().scale() * 2));
  float x = area.x + canvas.px(18);
  if (state.amending)
    x += canvas.text({x, baseline}, {Type::fine, Weight::semibold}, Ink::rust, "put right") +
         canvas.px(12);
  if (state.editing)
    x += canvas.text({x, baseline}, {Type::fine, Weight::semibold}, Ink::rust, "edit reading") +
         canvas.px(12);

  // Room for what the words seem to mean, right of them.
  float room = right - x;
  float chips_w = 0;
  std::vector<std::string> chips;
  for (const Proposal& proposal : state.preview) {
    std::string words = chip_text(proposal.fact);
    float w = canvas.chip_size({0, 0}, words).w + canvas.px(6);
    if (chips_w + w > room * 0.55F) break;
    chips_w += w;
    chips.push_back(std::move(words));
  }

  const bool own_words = !state.editing && !state.amending;
  if (own_words && canvas.asked("entry.older") && state.recalled < state.said.size()) {
    if (state.recalled == 0) state.kept = state.typed;
    state.replacement = state.said[state.said.size() - ++state.recalled];
  }
  if (own_words && canvas.asked("entry.newer") && state.recalled > 0) {
    state.replacement =
        --state.recalled == 0 ? state.kept : state.said[state.said.size() - state.recalled];
  }
  Rect field{x, area.y, std::max(canvas.px(60), room - chips_w - canvas.px(12)), area.h};
  std::string hint = "what the field says, in plain words";
  if (canvas.fonts().width(font, hint) > field.w) hint = "what the field says";
  auto typed = canvas.field("entry", field, state.typed, hint, font,
                            {.take_keyboard = canvas.focused(),
                             .give_up = !canvas.focused(),
                             // Words taken in may be typed anew; what was half typed goes on.
                             .select_all = !own_words,
                             .replacement = &state.replacement});
  state.active = typed.active;
  if (typed.changed) state.recalled = 0;

  if (read && state.typed != state.previewed) {
    state.previewed = state.typed;
    const TypedSpeech said =
        own_words ? typed_speech(view, state.adviser, state.typed) : TypedSpeech{{}, state.typed};
    state.preview =
        said.words.empty() || !said.of_field ? std::vector<Proposal>{} : read(said.words, view);
  }
  float chip_x = right;
  for (auto chip = chips.rbegin(); chip != chips.rend(); ++chip) {
    Rect r = canvas.chip_size({0, 0}, *chip);
    chip_x -= r.w + canvas.px(6);
    canvas.chip({chip_x, area.y + std::round((area.h - r.h) / 2)}, *chip, true);
  }

  auto done = [&] {
    // What was half typed before other words were taken in comes back.
    state.replacement = own_words ? std::string() : std::exchange(state.kept, {});
    state.kept.clear();
    state.recalled = 0;
  };
  if (canvas.asked("entry.send") && state.typed.find_first_not_of(' ') != std::string::npos) {
    if (state.amending) {
      if (state.typed != state.amending->text)
        out.push_back(ask::Post{
            protocol::Amend{state.amending->target, protocol::Json{{"text", state.typed}}, {}},
            std::nullopt});
      state.amending.reset();
      done();
      out.push_back(ask::Focus{RegionId::heard});
    } else if (!state.editing) {
      const TypedSpeech said = typed_speech(view, state.adviser, state.typed);
      out.push_back(ask::Post{
          protocol::VoiceNote{std::string(said.words), said.speaker, std::nullopt}, std::nullopt});
      state.said.push_back(state.typed);
      done();
    } else if (!state.preview.empty()) {
      // What cannot be read stays in the line to be typed otherwise.
      Proposal edited = state.preview.front();
      edited.words = state.editing->proposal.words;
      decide(state.editing->note, edited, protocol::Outcome::edited, out);
      state.editing.reset();
      done();
    }
  }
  if (canvas.asked("entry.remark") && !state.editing && !state.amending &&
      state.typed.find_first_not_of(' ') != std::string::npos) {
    out.push_back(ask::Post{protocol::Remark{state.typed, std::nullopt, true}, std::nullopt});
    done();
  }
  if (canvas.asked("entry.leave")) {
    if (!own_words) done();
    state.editing.reset();
    state.amending.reset();
    out.push_back(ask::Focus{RegionId::heard});
  }
  return out;
}

}  // namespace stonecall::desk
