#include "console/desk/call.hpp"

#include <algorithm>
#include <cmath>

#include <GLFW/glfw3.h>
#include <fmt/format.h>

#include "console/advise/turn_back.hpp"
#include "console/desk/call_answers.hpp"
#include "console/desk/call_card.hpp"
#include "console/desk/call_sending.hpp"
#include "console/desk/call_why.hpp"
#include "console/desk/numbers_age.hpp"
#include "console/picture/gaps.hpp"
#include "console/plates/sample_text.hpp"

namespace stonecall::desk {
namespace {

using advise::Advice;

// Heights in design pixels.
constexpr float below_part = 10, above_list = 8, missing_line = 26, above_caution = 10;
constexpr float button = 30, buttons_high = button + 10, button_under_card = 44;
constexpr float low_place = 400;

std::string aside_of(const View& view, const ClockText& clock) {
  if (!view.assessment) return {};
  std::string late = outdated_words(view, clock);
  return late.empty() ? fmt::format("on {} event{}", view.assessment->events,
                                    view.assessment->events == 1 ? "" : "s")
                      : late;
}

/// What only can be done here, sample by sample: "14: after picture; 12: how deep it sat".
std::string before_leaving(const View& view) {
  // On the way it is too late for them.
  if (!view.assessment || !view.assessed || !view.assessment->clock.station) return {};
  std::string text;
  for (const auto& missing : view.assessment->missing) {
    if (missing.sample >= view.assessed->samples.size()) continue;
    std::vector<picture::Gap> here;
    std::ranges::copy_if(missing.gaps, std::back_inserter(here), picture::only_there);
    if (here.empty()) continue;
    text += (text.empty() ? "" : "; ") +
            plates::sample_name(view.assessed->samples[missing.sample]) + " " +
            plates::gaps_text(here);
  }
  return text;
}

/// What stands in the region besides the curve, the buttons and the list, and how high: as drawn,
/// and as asked for of the layout. Heights in screen pixels, with the gap below; 0 where there is
/// nothing.
struct Parts {
  Card card;
  std::optional<Card> end;
  std::string missing;
  float card_high = 0, end_high = 0, caution_high = 0, missing_high = 0;
};

Parts parts_of(const View& view, const Canvas& canvas, bool sentence_alone = false) {
  const Fonts& f = canvas.fonts();
  const float width = canvas.area().w, gap = canvas.px(below_part);
  CardText text = advised_card(view, canvas.clock());
  if (sentence_alone) text.reason = text.sureness = std::string();
  Parts parts{Card(canvas, text, width), {}, {}};
  parts.card_high = parts.card.height() + gap;
  // Beside it, hollow as everything of the end: what knowing all would have advised.
  if (const auto end = end_card(view, canvas.clock())) {
    parts.end.emplace(canvas, *end, width, Type::text);
    parts.end_high = parts.end->height() + gap;
  }
  const Advice* advice = view.advice();
  if (advice && advice->kind == Advice::Kind::turn_back)
    parts.caution_high =
        canvas.px(above_caution) +
        f.line_height(Type::fine) *
            static_cast<float>(wrap(f, {Type::fine}, advise::turn_back_caution, width).size());
  // Where the call itself names what is missing, it is not said twice.
  if (!advice || advice->kind != Advice::Kind::get_first) parts.missing = before_leaving(view);
  if (!parts.missing.empty()) parts.missing_high = canvas.px(missing_line);
  return parts;
}

/// It went out, from here or from elsewhere.
bool is_sent(const View& view, const CallState& state, const Advice& advice) {
  return already_sent(view, advice.sentence) || state.sent == advice.sentence.elapsed();
}

void send(const View& view, CallState& state, Commands& out) {
  auto call = advised_call(view);
  if (!call || !may_send(view)) return;
  state.sent = call->text;
  out.push_back(ask::Post{*call, {}});
}

void answer_keys(const View& view, CallState& state, const Canvas& canvas, Commands& out) {
  const Advice* advice = view.advice();
  if (canvas.asked("call.send") && !(advice && is_sent(view, state, *advice)))
    send(view, state, out);
  if (canvas.asked("call.write") && may_send(view))
    start_writing(state.writing, CallWriting::What::call);
  if (canvas.asked("call.chance") && may_state(view))
    start_writing(state.writing, CallWriting::What::chance);
  if (const auto next = mark_chances(view, state.adviser, canvas, out)) state.list.bring = next;
  answer_chosen(view, state.writing, canvas, out);
  if (canvas.asked("call.why")) {
    state.why = !state.why;
    state.reason = 0;
  }
  if (canvas.asked("call.says")) next_kind_of_call(state.writing);
  if (!canvas.asked("call.leave")) return;
  if (state.writing.begun()) {
    stop_writing(state.writing);
    out.push_back(ask::Focus{RegionId::call});
  } else {
    state.why = false;
    out.push_back(ask::Choose{});
  }
}

float draw_buttons(const View& view, CallState& state, Canvas& canvas, float top, Commands& out) {
  const Rect& area = canvas.area();
  const float h = canvas.px(button), gap = canvas.px(8), w = std::floor((area.w - 3 * gap) / 4);
  if (top + h > area.bottom() + canvas.px(4)) return 0;  // their keys go on working
  const Advice* advice = view.advice();
  const bool sent = advice && is_sent(view, state, *advice);
  const bool sendable = advice && advised_call(view) && may_send(view) && !sent;
  auto place = [&](int i) { return Rect{area.x + static_cast<float>(i) * (w + gap), top, w, h}; };
  const bool wide =
      w >= canvas.fonts().width({Type::text, Weight::medium}, "Send this call") + canvas.px(12);
  auto words = [&](std::string_view full, std::string_view brief) { return wide ? full : brief; };
  if (canvas.button("send", place(0), sent ? "Sent" : words("Send this call", "Send"), sendable,
                    sendable))
    send(view, state, out);
  if (canvas.button("write", place(1), words("Write another", "Write"), false, may_send(view)))
    start_writing(state.writing, CallWriting::What::call);
  if (canvas.button("chance", place(2), words("State a chance", "Chance"), false, may_state(view)))
    start_writing(state.writing, CallWriting::What::chance);
  if (canvas.button("why", place(3), state.why ? "Less" : "Why", false,
                    advice && !advice->why.empty()))
    state.why = !state.why;
  return h;
}

/// The cards and what belongs to them; returns the y below.
float draw_cards(const View& view, const Parts& parts, Canvas& canvas, float top) {
  const Rect& area = canvas.area();
  const float gap = canvas.px(below_part), under = canvas.px(button_under_card);
  float y = top;
  const auto put = [&](const Card& card, float room, bool current) {
    const Rect box{area.x, y, area.w, std::clamp(room, 1.0F, card.height())};
    card.draw(canvas, box, current);
    y = box.bottom() + gap;
  };
  // In a low place the buttons come before the reasons, which are on the tip; the call itself
  // before the buttons.
  const float sentence = canvas.px(20) + canvas.fonts().line_height(Type::title);
  float room = area.bottom() - y;
  if (room < parts.card.height() + under && room >= sentence + under) room -= under;
  put(parts.card, room, !outdated(view));
  if (parts.end) put(*parts.end, area.bottom() - y, false);
  if (parts.caution_high > 0) {
    canvas.paragraph({area.x, y + canvas.px(above_caution)}, {Type::fine}, Ink::soft,
                     advise::turn_back_caution, area.w);
    y += parts.caution_high;
  }
  return y;
}

/// Of the room above the buttons, in screen pixels, what the newest lines of the list leave for the
/// curve. They are to be seen; in a low place some of them make room for it.
float room_beside_list(const std::vector<CallLine>& lines, const Canvas& canvas, float free) {
  free -= canvas.px(above_list);
  std::size_t newest = std::clamp<std::size_t>(lines.size(), 1, lines_at_ease);
  while (newest > 1 && free - newest_height(newest, lines.size(), canvas) <
                           canvas.px(newest > least_lines ? curve_to_read : least_curve))
    --newest;
  free -= newest_height(newest, lines.size(), canvas);
  const float further = canvas.px(further_call_line);
  const float for_further =
      std::min(free - canvas.px(curve_to_read),
               height_at_ease(lines, canvas) - canvas.px(call_line) * static_cast<float>(newest));
  return free - further * std::max(0.0F, std::floor(for_further / further));
}

void draw_missing(const std::string& missing, Canvas& canvas, float top) {
  const Rect& area = canvas.area();
  const float high = canvas.px(20);
  const float baseline = canvas.baseline_in(top, high, Type::text);
  const float label =
      canvas.text({area.x, baseline}, {Type::text, Weight::medium}, Ink::rust, "Before leaving") +
      canvas.px(8);
  const std::string text = ellipsis(canvas.fonts(), {Type::text}, missing, area.w - label);
  canvas.text({area.x + label, baseline}, {Type::text}, Ink::ink, text);
  if (text != missing) canvas.tip({area.x, top, area.w, high}, missing);
}

}  // namespace

Commands draw_call(const View& view, CallState& state, Canvas& canvas) {
  Commands out;
  const Rect& area = canvas.area();
  float y = canvas.heading("Call", aside_of(view, canvas.clock()));
  // From then on the picture says whether it stands: taken back, it may be sent again.
  if (!state.sent.empty() && already_sent(view, state.sent)) state.sent.clear();
  answer_keys(view, state, canvas, out);

  const Advice* advice = view.advice();
  const bool why = state.why && advice;
  // In a low place the reasons that are asked for take the room of those on the card and of the
  // list, and begin with the former.
  const bool reasons_alone = why && area.h < canvas.px(low_place);
  const Parts parts = parts_of(view, canvas, reasons_alone);
  y = draw_cards(view, parts, canvas, y);

  // From below: the newest lines of the list, the buttons or the line being written, what is
  // missing.
  const auto lines = call_lines(view, canvas.clock());
  const bool writes = state.writing.begun();
  float controls = writes ? writing_height(view, state.writing, canvas) : canvas.px(buttons_high);
  // Where there is room for one of them alone, the line that is being chosen takes that of the
  // buttons, whose keys go on working.
  const bool lines_alone =
      canvas.focused() && !writes && chosen_among(lines, canvas) &&
      area.bottom() - y - parts.missing_high - controls - canvas.px(above_list) <
          canvas.px(call_line);
  if (lines_alone) controls = 0;
  float free = area.bottom() - y - controls - parts.missing_high;
  if (!reasons_alone) free = room_beside_list(lines, canvas, free);
  y += why ? draw_reasons(*advice, reasons_alone, state.reason, canvas, y, free)
           : draw_curve(view, canvas, y, free);
  if (!parts.missing.empty()) draw_missing(parts.missing, canvas, y);
  y += parts.missing_high;
  if (writes) {
    y += draw_writing(view, state.writing, canvas, y, out);
  } else {
    state.writing.typing = false;
    if (!lines_alone) y += draw_buttons(view, state, canvas, y, out);
  }
  y += canvas.px(above_list);
  // While something is written its keys are letters.
  draw_call_list(view, lines, !state.writing.begun(), state.list, canvas,
                 {area.x, y, area.w, area.bottom() - y}, out);
  return out;
}

Wanted call_height(const View& view, const Canvas& canvas) {
  if (!view.assessment) return {};  // it will soon be there, and want its room
  const Parts parts = parts_of(view, canvas);
  const Advice* advice = view.advice();
  const float curve =
      advice && !advice->curve.empty() ? canvas.px(curve_at_ease) + canvas.px(below_curve) : 0;
  const float above = canvas.heading_height() + parts.card_high + parts.end_high +
                      parts.caution_high + curve + parts.missing_high + canvas.px(buttons_high) +
                      canvas.px(above_list);
  // A list that grew with every call would move what stands below it all the time.
  const float a_line_each = canvas.px(call_line) * static_cast<float>(lines_at_ease);
  const float at_ease = std::max(
      a_line_each, height_at_ease(call_lines(view, canvas.clock(), lines_at_ease), canvas));
  return {above + a_line_each + canvas.px(4), above + at_ease + canvas.px(call_list_foot + 4)};
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
