#include "console/desk/key_sheet.hpp"

#include <algorithm>
#include <cmath>

#include "console/desk/keys.hpp"

namespace stonecall::desk {
namespace {

std::string chords_of(const KeyLine& line) {
  std::string out;
  for (std::size_t i = 0; i < std::min<std::size_t>(2, line.chords.size()); ++i) {
    std::string words = to_string(line.chords[i]);
    if (out.find(words) != std::string::npos) continue;
    out += (out.empty() ? "" : ", ") + words;
  }
  return out;
}

}  // namespace

void draw_key_sheet(RegionId focus, const View& view, Canvas& canvas) {
  constexpr Font words{Type::text}, keys{Type::text, Weight::medium},
      title{Type::title, Weight::semibold};
  ImDrawList& screen = canvas.draw();
  const Rect& all = canvas.area();
  screen.AddRectFilled({0, 0}, {all.w, all.h}, canvas.colour(Ink::ground, 0.86F));

  auto of_region = keys_of(focus);
  auto of_desk = desk_keys();
  float line = canvas.fonts().line_height(Type::text) + canvas.px(2);
  float pad = canvas.px(28);
  float key_w = canvas.px(104);
  float column_w = key_w + canvas.px(260);
  bool side_by_side = all.w > 2 * column_w + 3 * pad;
  auto height_of = [&](std::size_t lines) {
    return canvas.px(34) + line * static_cast<float>(lines);
  };
  float high = side_by_side
                   ? std::max(height_of(of_region.size()), height_of(of_desk.size()))
                   : height_of(of_region.size()) + height_of(of_desk.size()) + canvas.px(16);
  high += 2 * pad;
  float wide = std::min(all.w, (side_by_side ? 2 * column_w + 3 * pad : column_w + 2 * pad));
  // Too many lines for the window: set them closer.
  if (high > all.h) {
    line = std::max(canvas.px(15), line * (all.h - canvas.px(80)) / high);
    high = std::min(high, all.h);
  }
  Rect sheet{std::round((all.w - wide) / 2), std::round(std::max(0.0F, (all.h - high) / 2)), wide,
             high};
  canvas.fill(sheet, Ink::ground, canvas.px(4));
  canvas.outline(sheet, Ink::ink, canvas.px(4));

  auto list = [&](float x, float y, std::string_view name, std::span<const KeyLine> lines) {
    y += canvas.fonts().cap_height(Type::title);
    canvas.text({x, y}, title, Ink::ink, name);
    canvas.rule(x, x + column_w, y + canvas.px(9));
    y += canvas.px(12) + line;
    for (const KeyLine& each : lines) {
      bool now = !each.available || each.available(view);
      canvas.text({x, y}, keys, now ? Ink::ink : Ink::soft,
                  ellipsis(canvas.fonts(), keys, chords_of(each), key_w - canvas.px(8)));
      canvas.text({x + key_w, y}, words, Ink::soft, each.words);
      y += line;
    }
    return y;
  };
  float x = sheet.x + pad, y = sheet.y + pad;
  float after = list(x, y, name_of(focus), of_region);
  if (side_by_side)
    list(x + column_w + pad, y, "Everywhere", of_desk);
  else
    list(x, after + canvas.px(4), "Everywhere", of_desk);
}

}  // namespace stonecall::desk
