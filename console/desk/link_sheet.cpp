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

/// A column of figures, by its right end as a part of the width.
struct Column {
  std::string_view head;
  float end;

  float right_in(const Rect& inner) const { return inner.x + std::round(inner.w * end); }
};
constexpr std::array columns{Column{"words", 0.36F},   Column{"last word", 0.5F},
                             Column{"ago", 0.62F},     Column{"delay", 0.73F},
                             Column{"longest", 0.85F}, Column{"clock", 1.0F}};

constexpr float link_row_high = 22;  // design pixels

/// The sheet as it is filled from above.
struct Page {
  Canvas& canvas;
  const Rect inner;
  float y;  ///< of what comes next
  const float foot;

  Page(Canvas& canvas, const Rect& inner, float y)
      : canvas(canvas), inner(inner), y(y), foot(inner.bottom() - canvas.px(26)) {}

  float pitch() const { return canvas.px(link_row_high); }
  bool has_room(float high) const { return y + high <= foot; }
  float baseline() const { return canvas.baseline_in(y, pitch(), Type::text); }

  void paragraph(Ink ink, const std::string& text) {
    const float line = canvas.fonts().line_height(Type::text);
    for (auto [begin, end] : wrap(canvas.fonts(), body_font, text, inner.w)) {
      if (!has_room(line)) return;
      y += line;
      canvas.text({inner.x, y - canvas.px(5)}, body_font, ink, text.substr(begin, end - begin));
    }
  }

  /// Returns the baseline, for what else is said at the head.
  float head(std::string_view name, std::string_view aside) {
    y += canvas.px(8);
    const float base = y + canvas.px(14);
    const float width = canvas.text({inner.x, base}, section_font, Ink::ink, name);
    if (!aside.empty())
      canvas.text({inner.right(), base}, aside_font, Ink::soft,
                  ellipsis(canvas.fonts(), aside_font, aside, inner.w - width - canvas.px(16)),
                  Align::right);
    canvas.rule(inner.x, inner.right(), y + pitch() - canvas.px(1));
    y += pitch() + canvas.px(3);
    return base;
  }
};

/// What wants a look, the newest first.
class Flags {
 public:
  explicit Flags(const View& view) : flags_(view.picture ? view.picture->flags : none()) {}
  std::size_t size() const { return flags_.size(); }
  const picture::Flag& operator[](std::size_t row) const { return flags_[size() - 1 - row]; }

 private:
  using List = picture::SharedList<picture::Flag>;
  static const List& none() {
    static const List nothing;
    return nothing;
  }
  const List& flags_;
};

void follow(const View& view, LinkSheetState& state) {
  if (state.picture == view.picture) return;
  state.picture = view.picture;
  state.senders.clear();
  state.outages.clear();
  if (!view.picture) return;
  state.senders = picture::senders(*view.picture);
  state.outages = picture::outages(*view.picture);
}

void choose_flag(LinkSheetState& state, const Canvas& canvas, std::size_t count) {
  if (canvas.asked("link.down") && state.row + 1 < count) ++state.row;
  if (canvas.asked("link.up") && state.row > 0) --state.row;
  if (canvas.asked("link.page_down")) state.row += 10;
  if (canvas.asked("link.page_up")) state.row -= std::min<std::size_t>(state.row, 10);
  if (canvas.pointer().over && canvas.pointer().wheel != 0)
    state.row = canvas.pointer().wheel < 0 ? state.row + 1
                                           : state.row - std::min<std::size_t>(state.row, 1);
  state.row = count == 0 ? 0 : std::min(state.row, count - 1);
}

void draw_link_state(const View& view, const LinkSheetState& state, Page& page) {
  const bool bad = is_down(view.link) || view.link.waiting > 0;
  page.paragraph(bad ? Ink::rust : Ink::ink, link_text(view, page.canvas.clock()));
  constexpr std::size_t most_elsewhere = 3;
  for (std::size_t i = 0; i < std::min(view.link.elsewhere.size(), most_elsewhere); ++i)
    page.paragraph(Ink::ink, elsewhere_text(view.link.elsewhere[i]));
  if (view.link.unclaimed > 0) page.paragraph(Ink::rust, unclaimed_text(view.link));
  page.paragraph(Ink::soft, outages_text(state.outages, page.canvas.clock()));
}

void draw_sender(const Sender& sender, const View& view, Page& page) {
  Canvas& canvas = page.canvas;
  const Rect& inner = page.inner;
  const float base = page.baseline();
  canvas.text({inner.x, base}, sender_font, sender.field ? Ink::ink : Ink::link,
              ellipsis(canvas.fonts(), sender_font, sender.name, inner.w * 0.28F));
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
    canvas.figures({columns[i].right_in(inner), base}, body_font, off ? Ink::rust : Ink::ink,
                   values[i], Align::right);
  }
  page.y += page.pitch();
}

/// `until`: how far down, since what wants a look has to have room too.
void draw_senders(const std::vector<Sender>& senders, const View& view, Page& page, float until) {
  const float heads = page.head("Senders", "");
  for (const Column& column : columns)
    page.canvas.text({column.right_in(page.inner), heads}, aside_font, Ink::soft, column.head,
                     Align::right);
  for (const Sender& sender : senders) {
    if (page.y + page.pitch() > until) break;
    draw_sender(sender, view, page);
  }
}

void draw_flags(const Flags& flags, LinkSheetState& state, Page& page) {
  Canvas& canvas = page.canvas;
  page.head("Wants a look",
            flags.size() == 0 ? "" : fmt::format("{}, the newest first", flags.size()));
  if (flags.size() == 0)
    page.paragraph(Ink::soft, "Nothing: no number given twice, nothing told differently.");
  const float pitch = page.pitch();
  const auto fit = static_cast<std::size_t>(std::max(0.0F, (page.foot - page.y) / pitch));
  state.first = first_shown(state.first, state.row, flags.size(), fit);
  const std::size_t last = std::min(flags.size(), state.first + fit);
  for (std::size_t row = state.first; row < last; ++row, page.y += pitch) {
    const std::string& text = flags[row].text;
    const Rect place{page.inner.x, page.y, page.inner.w, pitch};
    if (row == state.row) canvas.chosen_ground(place);
    const std::string words = ellipsis(canvas.fonts(), body_font, text, place.w);
    canvas.text({place.x, page.baseline()}, body_font, Ink::ink, words);
    if (words != text) canvas.tip(place, text);
    if (canvas.press("flag", place)) state.row = row;
  }
}

}  // namespace

Commands draw_link(const View& view, LinkSheetState& state, Canvas& canvas) {
  Commands out;
  if (canvas.asked("link.leave")) out.push_back(ask::CloseSheet{});
  if (canvas.asked("link.send")) out.push_back(ask::SendUnclaimed{});
  follow(view, state);
  const Flags flags(view);
  choose_flag(state, canvas, flags.size());

  constexpr std::size_t least_flags = 3, most_flags = 14;
  const std::size_t rows = state.senders.size() + std::clamp(flags.size(), least_flags, most_flags);
  const Rect inner = lay_sheet(canvas, 900, 190 + link_row_high * static_cast<float>(rows));
  Page page(canvas, inner,
            sheet_title(canvas, inner, "Link", "whose words came how, and what wants a look"));
  draw_link_state(view, state, page);
  if (const float two = 2 * page.pitch(); !state.senders.empty() && page.has_room(two)) {
    const float flags_high = canvas.px(30) + static_cast<float>(least_flags) * page.pitch();
    draw_senders(state.senders, view, page, page.foot - (flags.size() > 0 ? flags_high : 0));
  }
  if (page.has_room(2 * page.pitch())) draw_flags(flags, state, page);

  const bool leads = flags.size() > 0 && !flags[state.row].about.is_nil();
  if (leads && canvas.asked("link.show")) {
    out.push_back(ask::CloseSheet{});
    out.push_back(ask::ShowEvent{flags[state.row].about});
    out.push_back(ask::Focus{RegionId::heard});
  }
  canvas.text(
      {inner.x, inner.bottom() - canvas.px(4)}, aside_font, Ink::soft,
      ellipsis(canvas.fonts(), aside_font,
               leads ? "Enter shows the line in Heard    Esc leaves" : "Esc leaves", inner.w));
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
