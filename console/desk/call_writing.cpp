#include "console/desk/call_writing.hpp"

#include <algorithm>
#include <array>
#include <cctype>
#include <cmath>
#include <cstdlib>

#include <fmt/format.h>

#include "console/debrief/chances.hpp"
#include "console/desk/call_sending.hpp"

namespace stonecall::desk {
namespace {

using What = CallWriting::What;
using protocol::Says;

constexpr Font question_font{Type::text};

constexpr std::array<std::pair<Says, std::string_view>, 5> kinds_of_call{
    {{Says::stay, "stay"},
     {Says::move_on, "move on"},
     {Says::get, "get"},
     {Says::ask, "ask"},
     {Says::free, "other"}}};

bool allowed(const View& view, What what) {
  return what == What::chance ? may_state(view) : may_send(view);
}

/// The ready outcomes in turn, and the chance up and down by five percent, as they are typed.
void offer_outcome(const View& view, CallWriting& writing, const Canvas& canvas) {
  const double step = canvas.asked("call.more") ? 5 : canvas.asked("call.less") ? -5 : 0;
  const bool next = canvas.asked("call.says");
  if (step == 0 && !next) return;
  const std::string& typed = writing.replacement ? *writing.replacement : writing.typed;
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
      outcome = ready[writing.outcome++ % ready.size()];
    else if (step == 0)
      return;  // on the way there is none
  }
  // Nobody is ever quite sure: the ends are left to be typed.
  if (step != 0) percent = std::clamp(percent + step, 5.0, 95.0);
  writing.replacement = fmt::format("{:.0f} % {}", percent, outcome);
}

/// The question that is being answered, in the lines that have room above what is written: the list
/// may have none for it.
std::vector<std::string> answered_lines(const View& view, const CallWriting& writing,
                                        const Canvas& canvas) {
  std::vector<std::string> shown;
  if (!view.picture || writing.what != What::answer) return shown;
  const Fonts& f = canvas.fonts();
  const auto most = static_cast<std::size_t>(
      std::max(1.0F, std::floor(canvas.area().h / 3 / f.line_height(question_font.type))));
  for (const auto& asked : view.picture->questions) {
    if (asked.origin.id != writing.answering) continue;
    const std::string text = "To “" + asked.question.text + "”";
    const auto lines = wrap(f, question_font, text, canvas.area().w);
    for (std::size_t i = 0; i < std::min(lines.size(), most); ++i) {
      const bool cut = i + 1 == most && lines.size() > most;
      shown.push_back(cut ? ellipsis(f, question_font, text.substr(lines[i].begin), canvas.area().w)
                          : text.substr(lines[i].begin, lines[i].end - lines[i].begin));
    }
  }
  return shown;
}

/// Chips, one for each kind of call, of which one can be pressed.
void draw_kinds_of_call(CallWriting& writing, Canvas& canvas, float top) {
  float x = canvas.area().x;
  for (std::size_t i = 0; i < kinds_of_call.size(); ++i) {
    const std::string_view words = kinds_of_call[i].second;
    const bool chosen = i == writing.says;
    const Rect chip = canvas.chip_size({x, top}, words);
    if (chosen) canvas.fill(chip, Ink::panel, chip.h / 2);
    canvas.outline(chip, chosen ? Ink::ink : Ink::edge, chip.h / 2, canvas.px(1));
    const float baseline = canvas.baseline_in(chip.y, chip.h, Type::fine);
    canvas.text({chip.x + chip.w / 2, baseline},
                {Type::fine, chosen ? Weight::semibold : Weight::regular}, Ink::ink, words,
                Align::centre);
    if (canvas.press(words, chip)) writing.says = i;
    x = chip.right() + canvas.px(6);
  }
}

std::string_view example(What what) {
  switch (what) {
    case What::chance:
      return "20 % another new kind here within ten minutes";
    case What::answer:
      return "the answer, as it should be said on the loop";
    case What::call:
    case What::nothing:
      break;
  }
  return "as it should be said on the loop";
}

/// What is to be done with the line, or what it lacks yet.
struct Hint {
  std::string words;
  bool fault = false;
};

Hint hint_for_chance(const View& view, const CallWriting& writing) {
  if (writing.typed.empty()) {
    const bool ready = view.picture && !debrief::outcomes_to_state(*view.picture, view.now).empty();
    return {ready ? "Ctrl+K a ready outcome, Ctrl+↑ ↓ by 5 %, Enter states it"
                  : "a chance, as 20 %, and of what; no ready outcome on the way"};
  }
  const auto stated = stated_chance(writing.typed);
  if (!stated) return {"begin with the chance, as 20 %, then say of what", true};
  return {fmt::format("P {:.2f} that: {}", stated->chance, stated->outcome)};
}

Hint hint_for(const View& view, const CallWriting& writing) {
  Hint hint = writing.what == What::chance   ? hint_for_chance(view, writing)
              : writing.what == What::answer ? Hint{"Enter answers the question, Esc leaves"}
                                             : Hint{"Enter sends, Esc leaves"};
  if (!allowed(view, writing.what)) hint.words = "in replay nothing is sent";
  return hint;
}

/// What is written, as an event; none while something is lacking.
std::optional<protocol::Body> finished(const View& view, const CallWriting& writing) {
  if (!allowed(view, writing.what)) return std::nullopt;
  protocol::Call call;
  if (writing.what == What::chance) {
    const auto stated = stated_chance(writing.typed);
    if (!stated) return std::nullopt;
    call.text = debrief::chance_text(stated->chance) + ": " + stated->outcome;
    call.chance = stated->chance;
    call.outcome = stated->outcome;
    call.says = Says::free;
  } else {
    if (writing.typed.find_first_not_of(' ') == std::string::npos) return std::nullopt;
    if (writing.what == What::answer) return protocol::Answer{*writing.answering, writing.typed};
    call.text = writing.typed;
    call.says = kinds_of_call[writing.says].first;
  }
  if (view.assessment && !view.assessment->here.station.empty())
    call.station = view.assessment->here.station;
  return call;
}

}  // namespace

void start_writing(CallWriting& writing, What what) {
  if (writing.what != what) writing.typed.clear();
  writing.what = what;
  writing.take_keyboard = true;
}

void stop_writing(CallWriting& writing) {
  writing.what = What::nothing;
  writing.answering.reset();
  writing.typed.clear();
  writing.replacement.reset();
  writing.take_keyboard = false;
  writing.typing = false;
}

void next_kind_of_call(CallWriting& writing) {
  writing.says = (writing.says + 1) % kinds_of_call.size();
}

float writing_height(const View& view, const CallWriting& writing, const Canvas& canvas) {
  return canvas.px(writing.what == What::call ? 82 : 54) +
         canvas.fonts().line_height(question_font.type) *
             static_cast<float>(answered_lines(view, writing, canvas).size());
}

float draw_writing(const View& view, CallWriting& writing, Canvas& canvas, float top,
                   Commands& out) {
  const Rect& area = canvas.area();
  if (writing.what == What::chance) offer_outcome(view, writing, canvas);
  float y = top;
  if (writing.what == What::call) {
    draw_kinds_of_call(writing, canvas, y);
    y += canvas.px(28);
  }
  for (const std::string& text : answered_lines(view, writing, canvas)) {
    canvas.text({area.x, y + canvas.px(14)}, question_font, Ink::ink, text);
    y += canvas.fonts().line_height(question_font.type);
  }
  const Rect line{area.x, y, area.w, canvas.px(30)};
  const auto typed = canvas.field(
      "writing", {line.x + canvas.px(2), line.y, line.w - canvas.px(4), line.h - canvas.px(2)},
      writing.typed, example(writing.what), {Type::lead},
      {.take_keyboard = writing.take_keyboard, .replacement = &writing.replacement});
  if (typed.active) writing.take_keyboard = false;
  writing.typing = typed.active;
  canvas.rule(line.x, line.right(), line.bottom() - canvas.px(2), Ink::ink);
  y = line.bottom() + canvas.px(4);

  const Hint hint = hint_for(view, writing);
  canvas.text({area.x, y + canvas.px(12)}, {Type::fine}, hint.fault ? Ink::rust : Ink::soft,
              ellipsis(canvas.fonts(), {Type::fine}, hint.words, area.w));
  if (canvas.asked("call.enter")) {
    if (auto body = finished(view, writing)) {
      out.push_back(ask::Post{std::move(*body), {}});
      out.push_back(ask::Focus{RegionId::call});
      stop_writing(writing);
    }
  }
  return y + canvas.px(18) - top;
}

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

}  // namespace stonecall::desk
