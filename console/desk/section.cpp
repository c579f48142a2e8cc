#include "console/desk/section.hpp"

namespace stonecall::desk {
namespace {

constexpr Font section_name{Type::lead, Weight::semibold};
constexpr Font section_aside{Type::fine};
constexpr Font brief_name{Type::text, Weight::semibold};
constexpr Font brief_words{Type::text};
constexpr float behind_name = 10;  // design pixels

}  // namespace

float draw_section(Canvas& canvas, float top, std::string_view name, std::string_view aside,
                   Ink ink) {
  const Rect& area = canvas.area();
  canvas.rule(area.x, area.right(), top);
  const float baseline = top + canvas.px(23);
  const float w = canvas.text({area.x, baseline}, section_name, ink, name);
  if (!aside.empty())
    canvas.text({area.right(), baseline}, section_aside, Ink::soft,
                ellipsis(canvas.fonts(), section_aside, aside, area.w - w - canvas.px(16)),
                Align::right);
  return top + canvas.px(section_head);
}

void draw_brief_section(Canvas& canvas, float top, std::string_view name, Ink ink,
                        const std::string& words, const std::string& in_full) {
  const Rect& area = canvas.area();
  canvas.rule(area.x, area.right(), top);
  const float baseline = top + canvas.px(19);
  const float x =
      area.x + canvas.text({area.x, baseline}, brief_name, ink, name) + canvas.px(behind_name);
  canvas.text({x, baseline}, brief_words, ink,
              ellipsis(canvas.fonts(), brief_words, words, area.right() - x));
  canvas.tip({area.x, top, area.w, canvas.px(brief_section)}, in_full);
}

float brief_section_room(const Canvas& canvas, std::string_view name) {
  return canvas.area().w - canvas.px(behind_name) - canvas.fonts().width(brief_name, name);
}

}  // namespace stonecall::desk
