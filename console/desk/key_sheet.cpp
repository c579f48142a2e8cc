#include "console/desk/key_sheet.hpp"

#include <algorithm>
#include <cmath>
#include <vector>

#include <fmt/format.h>

#include "console/desk/keys.hpp"

namespace stonecall::desk {
namespace {

constexpr Font words_font{Type::text}, keys_font{Type::text, Weight::medium},
    title_font{Type::title, Weight::semibold}, hint_font{Type::fine};

/// The chords of a line as far as they have room; one at least.
std::string chords_of(const KeyLine& line, const Fonts& fonts, float room) {
  std::string out;
  for (const Chord& chord : line.chords) {
    std::string words = to_string(chord);
    if (out.find(words) != std::string::npos) continue;
    std::string longer = out.empty() ? words : out + ", " + words;
    if (!out.empty() && fonts.width(keys_font, longer) > room) break;
    out = std::move(longer);
  }
  return ellipsis(fonts, keys_font, out, room);
}

/// A heading or a key, with its place on the sheet.
struct Item {
  std::string_view heading;
  const KeyLine* key = nullptr;
  std::vector<std::string> words;  ///< wrapped
  std::size_t column = 0;          ///< over all pages
  float y = 0;                     ///< within the column
};

/// The sizes that the sheet is laid out with, for this window.
struct Measures {
  explicit Measures(const Canvas& canvas)
      : pad(canvas.px(24)),
        margin(canvas.px(8)),
        line(canvas.fonts().line_height(Type::text) + canvas.px(2)),
        heading(canvas.px(34)),
        footer(canvas.px(26)),
        gap(canvas.px(12)),
        key_w(canvas.px(104)),
        column_w(std::min(key_w + canvas.px(260), canvas.area().w - 2 * (pad + margin))),
        most(canvas.area().h - 2 * (pad + margin) - footer),
        columns(static_cast<std::size_t>(
            std::clamp((canvas.area().w - 2 * margin - pad) / (column_w + pad), 1.0F, 3.0F))) {}

  float pad, margin, line, heading, footer;
  float gap;  ///< above a heading that others stand above
  float key_w, column_w;
  float most;           ///< height of a column
  std::size_t columns;  ///< that have room beside each other

  float height_of(const Item& item) const {
    return item.key ? line * static_cast<float>(item.words.size()) : heading;
  }
};

std::vector<Item> items_of(RegionId focus, const Fonts& fonts, float words_w) {
  std::vector<Item> items;
  const auto add = [&](std::string_view name, std::span<const KeyLine> lines) {
    if (lines.empty()) return;
    items.push_back({name, nullptr, {}});
    for (const KeyLine& each : lines) {
      items.push_back({{}, &each, {}});
      const std::string_view text = each.words;
      for (auto [begin, end] : wrap(fonts, words_font, text, words_w))
        items.back().words.emplace_back(text.substr(begin, end - begin));
    }
  };
  add(name_of(focus), keys_of(focus));
  add("Everywhere", desk_keys());
  return items;
}

/// How high the columns of each section are. What does not fit into one of several is spread evenly
/// over as many as it needs, its rows beside each other.
std::vector<float> heights_of_sections(const std::vector<Item>& items, const Measures& m) {
  std::vector<float> heights;
  for (const Item& item : items) {
    if (!item.key) heights.push_back(0);
    heights.back() += m.height_of(item);
  }
  for (float& high : heights) {
    const float rows = high - m.heading;
    high = high <= m.most || m.columns < 2
               ? m.most
               : std::min(m.most,
                          m.heading + rows / std::ceil(rows / (m.most - m.heading)) + 2 * m.line);
  }
  return heights;
}

/// Puts the items down one column after the other and returns the height of the tallest; what is
/// everywhere begins a column where there are several.
float lay_out(std::vector<Item>& items, const Measures& m) {
  const auto heights = heights_of_sections(items, m);
  const float goes_on_at = m.columns < 2 ? 0 : m.heading;
  float y = 0, tallest = 0;
  std::size_t column = 0, section = 0;
  for (Item& item : items) {
    const float high = m.height_of(item);
    if (!item.key) ++section;
    const bool fresh = !item.key && y > 0 && m.columns > 1;
    // A heading does not stand alone at the foot.
    if (fresh || y + high + (item.key ? 0 : m.line) > heights[section - 1]) {
      ++column;
      y = item.key ? goes_on_at : 0;
    } else if (!item.key && y > 0) {
      y += m.gap;
    }
    item.column = column;
    item.y = y;
    y += high;
    tallest = std::max(tallest, y);
  }
  return tallest;
}

void draw_heading(std::span<const Item> from_here, std::size_t page, const Measures& m, float x,
                  float top, Canvas& canvas) {
  const Item& item = from_here.front();
  const float baseline = top + canvas.fonts().cap_height(Type::title);
  canvas.text({x, baseline}, title_font, Ink::ink, item.heading);
  // Over all columns of it that stand on this page.
  std::size_t last = item.column;
  for (const Item& each : from_here.subspan(1)) {
    if (!each.key) break;
    if (each.column / m.columns == page) last = each.column;
  }
  canvas.rule(x, x + m.column_w + static_cast<float>(last - item.column) * (m.column_w + m.pad),
              baseline + canvas.px(9));
}

void draw_key(const Item& item, const View& view, const Measures& m, float x, float top,
              Canvas& canvas) {
  float baseline = canvas.baseline_in(top, m.line, Type::text);
  const bool now = !item.key->available || item.key->available(view);
  canvas.text({x, baseline}, keys_font, now ? Ink::ink : Ink::soft,
              chords_of(*item.key, canvas.fonts(), m.key_w - canvas.px(8)));
  for (const std::string& words : item.words) {
    canvas.text({x + m.key_w, baseline}, words_font, Ink::soft, words);
    baseline += m.line;
  }
}

}  // namespace

void turn_key_sheet(KeySheet& sheet) {
  if (!sheet.shown)
    sheet = {true, 0, 1};
  else if (sheet.page + 1 < sheet.pages)
    ++sheet.page;
  else
    sheet.shown = false;
}

void draw_key_sheet(RegionId focus, const View& view, KeySheet& sheet, Canvas& canvas) {
  const Rect& all = canvas.area();
  canvas.draw().AddRectFilled({0, 0}, {all.w, all.h}, canvas.colour(Ink::ground, 0.86F));

  const Measures m(canvas);
  auto items = items_of(focus, canvas.fonts(), m.column_w - m.key_w);
  const float tallest = lay_out(items, m);
  const std::size_t columns = items.empty() ? 1 : items.back().column + 1;
  sheet.pages = (columns - 1) / m.columns + 1;
  sheet.page = std::min(sheet.page, sheet.pages - 1);

  const float wide = std::min(
      all.w, static_cast<float>(std::min(m.columns, columns)) * (m.column_w + m.pad) + m.pad);
  const float high = std::min(all.h, tallest + 2 * m.pad + m.footer);
  const Rect paper{std::round((all.w - wide) / 2), std::round((all.h - high) / 2), wide, high};
  canvas.fill(paper, Ink::ground, canvas.px(4));
  canvas.outline(paper, Ink::ink, canvas.px(4));

  for (std::size_t i = 0; i < items.size(); ++i) {
    const Item& item = items[i];
    if (item.column / m.columns != sheet.page) continue;
    const float x =
        paper.x + m.pad + static_cast<float>(item.column % m.columns) * (m.column_w + m.pad);
    const float top = paper.y + m.pad + item.y;
    if (item.key)
      draw_key(item, view, m, x, top, canvas);
    else
      draw_heading(std::span(items).subspan(i), sheet.page, m, x, top, canvas);
  }
  canvas.text({paper.right() - m.pad, paper.bottom() - canvas.px(14)}, hint_font, Ink::soft,
              sheet.page + 1 < sheet.pages
                  ? fmt::format("{} of {}    F1 more    Esc away", sheet.page + 1, sheet.pages)
                  : std::string("F1 or Esc away"),
              Align::right);
}

}  // namespace stonecall::desk
