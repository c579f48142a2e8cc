#include "console/desk/link_sheet.hpp"

#include <algorithm>
#include <array>
#include <cmath>

#include <GLFW/glfw3.h>
#include <fmt/format.h>

#include "console/desk/link_text.hpp"
#include "console/desk/sheet.hpp"

namespace stonecall::desk {
namespace {

using picture::Sender;
using protocol::Milliseconds;
using namespace std::chrono_literals;

constexpr Font body_font{Type::text}, sender_font{Type::text, Weight::medium},
    aside_font{Type::fine}, section_font{Type::fine, Weight::semibold};

/// Right ends of the columns of figures, as parts of the width.
struct Column {
  std::string_view head;
  float end;
};
constexpr std::array columns{Column{"words", 0.36F},   Column{"last word", 0.5F},
                             Column{"ago", 0.62F},     Column{"delay", 0.73F},
                             Column{"longest", 0.85F}, Column{"clock", 1.0F}};

}  // namespace

Commands draw_link(const View& view, LinkSheetState& state, Canvas& canvas) {
  Commands out;
  const Fonts& f = canvas.fonts();
  if (canvas.asked("link.leave")) out.push_back(ask::CloseSheet{});
  if (canvas.asked("link.send")) out.push_back(ask::SendUnclaimed{});
  if (state.picture != view.picture) {
    state.picture = view.picture;
    state.senders.clear();
    state.outages.clear();
    if (view.picture) {
      state.senders = picture::senders(*view.picture);
      state.outages = picture::outages(*view.picture);
    }
  }
  static const picture::SharedList<picture::Flag> nothing;
  const auto& flags = view.picture ? view.picture->flags : nothing;
  const std::size_t count = flags.size();
  const auto flag_at = [&](std::size_t row) -> const picture::Flag& {
    return flags[count - 1 - row];  // the newest first
  };

  if (canvas.asked("link.down") && state.row + 1 < count) ++state.row;
  if (canvas.asked("link.up") && state.row > 0) --state.row;
  if (canvas.asked("link.page_down")) state.row += 10;
  if (canvas.asked("link.page_up")) state.row -= std::min<std::size_t>(state.row, 10);
  if (canvas.pointer().over && canvas.pointer().wheel != 0)
    state.row = canvas.pointer().wheel < 0 ? state.row + 1
                                           : state.row - std::min<std::size_t>(state.row, 1);
  state.row = count == 0 ? 0 : std::min(state.row, count - 1);

  const float pitch = canvas.px(22), line = f.line_height(Type::text);
  constexpr std::size_t least_rows = 3, most_rows = 14;  // of what wants a look
  const float wanted_high = 190 + 22 * static_cast<float>(state.senders.size() +
                                                          std::clamp(count, least_rows, most_rows));
  Rect inner = lay_sheet(canvas, 900, wanted_high);
  float y = sheet_title(canvas, inner, "Link", "whose words came how, and what wants a look");
  const float foot = inner.bottom() - canvas.px(26);
  const auto room = [&](float high) { return y + high <= foot; };
  const auto baseline = [&](float top) { return canvas.baseline_in(top, pitch, Type::text); };
  const auto paragraph = [&](Ink ink, const std::string& text) {
    for (auto [begin, end] : wrap(f, body_font, text, inner.w)) {
      if (!room(line)) return;
      y += line;
      canvas.text({inner.x, y - canvas.px(5)}, body_font, ink, text.substr(begin, end - begin));
    }
  };
  const auto head = [&](std::string_view name, std::string_view aside) {
    y += canvas.px(8);
    float w = canvas.text({inner.x, y + canvas.px(14)}, section_font, Ink::ink, name);
    if (!aside.empty())
      canvas.text({inner.right(), y + canvas.px(14)}, aside_font, Ink::soft,
                  ellipsis(f, aside_font, aside, inner.w - w - canvas.px(16)), Align::right);
    canvas.rule(inner.x, inner.right(), y + pitch - canvas.px(1));
    y += pitch + canvas.px(3);
  };

  const bool bad = is_down(view.link) || view.link.waiting > 0;
  paragraph(bad ? Ink::rust : Ink::ink, link_text(view, canvas.clock()));
  constexpr std::size_t most_elsewhere = 3;
  for (std::size_t i = 0; i < std::min(view.link.elsewhere.size(), most_elsewhere); ++i)
    paragraph(Ink::ink, elsewhere_text(view.link.elsewhere[i]));
  if (view.link.unclaimed > 0) paragraph(Ink::rust, unclaimed_text(view.link));
  paragraph(Ink::soft, outages_text(state.outages, canvas.clock()));

  if (!state.senders.empty() && room(2 * pitch)) {
    head("Senders", "");
    const float heads = y - pitch - canvas.px(3) + canvas.px(14);
    const auto end = [&](const Column& c) { return inner.x + std::round(inner.w * c.end); };
    for (const Column& c : columns)
      canvas.text({end(c), heads}, aside_font, Ink::soft, c.head, Align::right);
    // What wants a look keeps at least three rows.
    const float until = count > 0 ? foot - canvas.px(30) - 3 * pitch : foot;
    for (const Sender& sender : state.senders) {
      if (y + pitch > until) break;
      const float base = baseline(y);
      canvas.text({inner.x, base}, sender_font, sender.field ? Ink::ink : Ink::link,
                  ellipsis(f, sender_font, sender.name, inner.w * 0.28F));
      const std::array<std::string, columns.size()> values{
          std::to_string(sender.words),
          canvas.clock().seconds(sender.last),
          age_text(std::max(Milliseconds{}, view.now - sender.last)),
          sender.typical ? short_span(*sender.typical) : "–",
          sender.longest ? short_span(*sender.longest) : "–",
          sender_clock_text(sender)};
      for (std::size_t i = 0; i < columns.size(); ++i) {
        const bool off = i + 1 == columns.size() && sender.clock_ahead &&
                         std::chrono::abs(*sender.clock_ahead) > 60s;
        canvas.figures({end(columns[i]), base}, body_font, off ? Ink::rust : Ink::ink, values[i],
                       Align::right);
      }
      y += pitch;
    }
  }

  if (room(2 * pitch)) {
    head("Wants a look", count == 0 ? "" : fmt::format("{}, the newest first", count));
    if (count == 0)
      paragraph(Ink::soft, "Nothing: no number given twice, nothing told differently.");
    const auto fit = static_cast<std::size_t>(std::max(0.0F, (foot - y) / pitch));
    state.first = first_shown(state.first, state.row, count, fit);
    for (std::size_t row = state.first; row < std::min(count, state.first + fit); ++row) {
      const picture::Flag& flag = flag_at(row);
      const Rect place{inner.x, y, inner.w, pitch};
      if (row == state.row)
        canvas.fill({place.x - canvas.px(6), place.y, place.w + canvas.px(12), place.h},
                    Ink::chosen, canvas.px(3));
      const std::string words = ellipsis(f, body_font, flag.text, inner.w);
      canvas.text({inner.x, baseline(y)}, body_font, Ink::ink, words);
      if (words != flag.text) canvas.tip(place, flag.text);
      if (canvas.press("flag", place)) state.row = row;
      y += pitch;
    }
  }
  const bool leads = count > 0 && !flag_at(state.row).about.is_nil();
  if (leads && canvas.asked("link.show")) {
    out.push_back(ask::CloseSheet{});
    out.push_back(ask::ShowEvent{flag_at(state.row).about});
    out.push_back(ask::Focus{RegionId::heard});
  }
  canvas.text(
      {inner.x, inner.bottom() - canvas.px(4)}, aside_font, Ink::soft,
      ellipsis(f, aside_font, leads ? "Enter shows the line in Heard    Esc leaves" : "Esc leaves",
               inner.w));
  return out;
}

std::span<const KeyLine> link_keys() {
  constexpr auto here = RegionId::link;
  static const std::vector<KeyLine> lines{
      {"link.up", "what wants a look: newer", {{GLFW_KEY_UP, 0}}, here},
      {"link.down", "what wants a look: older", {{GLFW_KEY_DOWN, 0}}, here},
      {"link.page_up", "ten newer", {{GLFW_KEY_PAGE_UP, 0}}, here},
      {"link.page_down", "ten older", {{GLFW_KEY_PAGE_DOWN, 0}}, here},
      {"link.show", "show the line in Heard", {{GLFW_KEY_ENTER, 0}, {GLFW_KEY_KP_ENTER, 0}}, here},
      {"link.send",
       "send to this exercise what was typed before it was known",
       {{GLFW_KEY_G, 0}},
       here,
       false,
       [](const View& v) { return v.link.unclaimed > 0; }},
      {"link.leave", "leave the sheet", {{GLFW_KEY_ESCAPE, 0}}, here},
  };
  return lines;
}

}  // namespace stonecall::desk
