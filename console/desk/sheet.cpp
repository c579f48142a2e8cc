#include "console/desk/sheet.hpp"

#include <algorithm>
#include <cmath>

namespace stonecall::desk {

Rect lay_sheet(Canvas& canvas, float wide, float high) {
  const Rect& all = canvas.area();
  canvas.draw().AddRectFilled({all.x, all.y}, {all.right(), all.bottom()},
                              canvas.colour(Ink::ground, 0.86F));
  float w = std::min(canvas.px(wide), all.w - canvas.px(16)),
        h = std::min(canvas.px(high), all.h - canvas.px(16));
  Rect sheet{std::round(all.x + (all.w - w) / 2), std::round(all.y + (all.h - h) / 2), w, h};
  canvas.fill(sheet, Ink::ground, canvas.px(4));
  canvas.outline(sheet, Ink::ink, canvas.px(4));
  return sheet.inset(canvas.px(24), canvas.px(18));
}

float sheet_title(Canvas& canvas, const Rect& inner, std::string_view name,
                  std::string_view aside) {
  constexpr Font title{Type::title, Weight::semibold};
  constexpr Font fine{Type::fine};
  float baseline = inner.y + canvas.fonts().cap_height(Type::title);
  float w = canvas.text({inner.x, baseline}, title, Ink::ink,
                        ellipsis(canvas.fonts(), title, name, inner.w));
  canvas.fill({inner.x, baseline + canvas.px(6), std::round(w), canvas.px(2)}, Ink::focus);
  float room = inner.w - w - canvas.px(20);
  if (room > canvas.px(40))
    canvas.text({inner.right(), baseline}, fine, Ink::soft,
                ellipsis(canvas.fonts(), fine, aside, room), Align::right);
  return baseline + canvas.px(16);
}

std::size_t first_shown(std::size_t first, std::size_t row, std::size_t rows, std::size_t fit) {
  if (fit == 0 || rows <= fit) return 0;
  if (row < first) first = row;
  if (row >= first + fit) first = row + 1 - fit;
  return std::min(first, rows - fit);
}

}  // namespace stonecall::desk
