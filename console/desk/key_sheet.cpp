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
  const Fonts& f = canvas.fonts();
  ImDrawList& screen = canvas.draw();
  const Rect& all = canvas.area();
  screen.AddRectFilled({0, 0}, {all.w, all.h}, canvas.colour(Ink::ground, 0.86F));

  const float pad = canvas.px(24), margin = canvas.px(8);
  const float line = f.line_height(Type::text) + canvas.px(2), heading = canvas.px(34),
              footer = canvas.px(26);
  const float key_w = canvas.px(104);
  const float column_w = std::min(key_w + canvas.px(260), all.w - 2 * (pad + margin));
  const auto columns = static_cast<std::size_t>(
      std::clamp((all.w - 2 * margin - pad) / (column_w + pad), 1.0F, 3.0F));
  const float most = all.h - 2 * (pad + margin) - footer;

  std::vector<Item> items;
  const auto add = [&](std::string_view name, std::span<const KeyLine> lines) {
    if (lines.empty()) return;
    items.push_back({name, nullptr, {}});
    for (const KeyLine& each : lines) {
      items.push_back({{}, &each, {}});
      const std::string_view text = each.words;
      for (auto [begin, end] : wrap(f, words_font, text, column_w - key_w))
        items.back().words.emplace_back(text.substr(begin, end - begin));
    }
  };
  add(name_of(focus), keys_of(focus));
  add("Everywhere", desk_keys());

  const auto height_of = [&](const Item& item) {
    return item.key ? line * static_cast<float>(item.words.size()) : heading;
  };
  // What does not fit into one of several columns is spread evenly over as many as it needs, its
  // rows beside each other.
  const float goes_on_at = columns < 2 ? 0 : heading;
  std::vector<float> column_of_section;
  for (const Item& item : items) {
    if (!item.key) column_of_section.push_back(0);
    column_of_section.back() += height_of(item);
  }
  for (float& high : column_of_section) {
    const float rows = high - heading;
    high = high <= most || columns < 2
               ? most
               : std::min(most, heading + rows / std::ceil(rows / (most - heading)) + 2 * line);
  }

  // Down one column after the other; what is everywhere begins a column where there are several.
  float y = 0, tallest = 0;
  std::size_t column = 0, section = 0;
  for (Item& item : items) {
    const float high = height_of(item);
    if (!item.key) ++section;
    const bool fresh = !item.key && y > 0 && columns > 1;
    // A heading does not stand alone at the foot.
    if (fresh || y + high + (item.key ? 0 : line) > column_of_section[section - 1]) {
      ++column;
      y = item.key ? goes_on_at : 0;
    } else if (!item.key && y > 0) {
      y += canvas.px(12);
    }
    item.column = column;
    item.y = y;
    y += high;
    tallest = std::max(tallest, y);
  }
  sheet.pages = column / columns + 1;
  sheet.page = std::min(sheet.page, sheet.pages - 1);

  const float wide =
      std::min(all.w, static_cast<float>(std::min(columns, column + 1)) * (column_w + pad) + pad);
  const float high = std::min(all.h, tallest + 2 * pad + footer);
  const Rect paper{std::round((all.w - wide) / 2), std::round((all.h - high) / 2), wide, high};
  canvas.fill(paper, Ink::ground, canvas.px(4));
  canvas.outline(paper, Ink::ink, canvas.px(4));

  for (const Item& item : items) {
    if (item.column / columns != sheet.page) continue;
    const float x = paper.x + pad + static_cast<float>(item.column % columns) * (column_w + pad);
    const float top = paper.y + pad + item.y;
    if (!item.key) {
      const float baseline = top + f.cap_height(Type::title);
      canvas.text({x, baseline}, title_font, Ink::ink, item.heading);
      // Over all columns of it that stand on this page.
      std::size_t last = item.column;
      for (const Item* each = &item + 1; each != items.data() + items.size() && each->key; ++each)
        if (each->column / columns == sheet.page) last = each->column;
      canvas.rule(x, x + column_w + static_cast<float>(last - item.column) * (column_w + pad),
                  baseline + canvas.px(9));
      continue;
    }
    float baseline = canvas.baseline_in(top, line, Type::text);
    const bool now = !item.key->available || item.key->available(view);
    canvas.text({x, baseline}, keys_font, now ? Ink::ink : Ink::soft,
                chords_of(*item.key, f, key_w - canvas.px(8)));
    for (const std::string& words : item.words) {
      canvas.text({x + key_w, baseline}, words_font, Ink::soft, words);
      baseline += line;
    }
  }
  canvas.text({paper.right() - pad, paper.bottom() - canvas.px(14)}, hint_font, Ink::soft,
              sheet.page + 1 < sheet.pages
                  ? fmt::format("{} of {}    F1 more    Esc away", sheet.page + 1, sheet.pages)
                  : std::string("F1 or Esc away"),
              Align::right);
}

}  // namespace stonecall::desk
