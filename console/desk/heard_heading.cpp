#include "console/desk/heard_heading.hpp"

namespace stonecall::desk {
namespace {

constexpr std::string_view heard_name = "Heard";

/// A word of the heading.
struct FilterWord {
  std::string_view id;
  std::string words;
  bool on;  ///< it filters

  Font font() const { return {Type::fine, on ? Weight::semibold : Weight::regular}; }
};

/// Those that have room, from the right end on. What filters nothing gives way.
std::vector<FilterWord> filter_words_within(const HeardFilter& filter, bool searching,
                                            const Canvas& canvas, float room, float gap) {
  const Fonts& f = canvas.fonts();
  const auto any_or = [](const std::string& value, const char* all) {
    return value.empty() ? std::string(all) : value;
  };
  std::vector<FilterWord> words{
      {"search", "search", searching || !filter.search.empty()},
      {"kind", std::string(words_of(filter.show)), filter.show != HeardFilter::Show::all},
      {"speaker", any_or(filter.speaker, "all speakers"), !filter.speaker.empty()},
      {"station", any_or(filter.station, "all stations"), !filter.station.empty()}};
  const auto total = [&] {
    float w = 0;
    for (const FilterWord& word : words) w += f.width(word.font(), word.words) + gap;
    return w - gap;
  };
  for (const std::string_view id : {"station", "speaker", "kind"})
    if (total() > room)
      std::erase_if(words, [&](const FilterWord& word) { return word.id == id && !word.on; });
  if (total() > room)
    for (FilterWord& word : words)
      word.words =
          ellipsis(f, word.font(), word.words, room / static_cast<float>(words.size()) - gap);
  return words;
}

/// Returns the id of the word that was pressed; empty: none.
std::string_view draw_filter(const HeardFilter& filter, bool searching, Canvas& canvas) {
  const Rect& area = canvas.area();
  const Fonts& f = canvas.fonts();
  const float gap = canvas.px(16);
  const float room =
      area.w - f.width({Type::title, Weight::semibold}, heard_name) - gap - canvas.beside_name();
  const float baseline = area.y + canvas.px(6) + f.cap_height(Type::title);
  float x = area.right();
  std::string_view pressed;
  for (const FilterWord& word : filter_words_within(filter, searching, canvas, room, gap)) {
    const float w = f.width(word.font(), word.words);
    x -= w;
    canvas.text({x, baseline}, word.font(), word.on ? Ink::ink : Ink::soft, word.words);
    if (canvas.press(word.id,
                     {x - canvas.px(4), baseline - canvas.px(14), w + canvas.px(8), canvas.px(20)}))
      pressed = word.id;
    x -= gap;
  }
  return pressed;
}

/// The line in which the search is typed; returns the y below.
float draw_search(HeardFilter& filter, HeardSearch& search, Canvas& canvas, float top,
                  Commands& out) {
  const Rect line{canvas.area().x, top, canvas.area().w, canvas.px(28)};
  const auto typed = canvas.field(
      "search", {line.x + canvas.px(2), line.y, line.w - canvas.px(4), line.h - canvas.px(4)},
      filter.search, "words to look for", {Type::text}, {.take_keyboard = search.take_keyboard});
  if (typed.active) search.take_keyboard = false;
  search.typing = typed.active;
  canvas.rule(line.x, line.right(), line.bottom() - canvas.px(4), Ink::ink);
  if (typed.entered) out.push_back(ask::Focus{RegionId::heard});
  return line.bottom();
}

}  // namespace

void open_search(HeardSearch& search) {
  search.open = search.take_keyboard = true;
}

float draw_heard_heading(const picture::Picture& picture, HeardFilter& filter, HeardSearch& search,
                         Canvas& canvas, Commands& out) {
  float y = canvas.heading(heard_name);
  const auto change = [&](std::string_view what) {
    if (what == "search") open_search(search);
    if (what == "kind") next_kind(filter);
    if (what == "speaker") next_speaker(picture, filter);
    if (what == "station") next_station(picture, filter);
  };
  for (const std::string_view key :
       {"heard.search", "heard.kind", "heard.speaker", "heard.station"})
    if (canvas.asked(key)) change(key.substr(key.find('.') + 1));
  change(draw_filter(filter, search.open, canvas));
  search.typing = false;
  if (search.open) y = draw_search(filter, search, canvas, y, out);
  if (canvas.asked("heard.all")) {
    filter = {};
    search.open = false;
    Chosen none = canvas.chosen();
    none.event.reset();
    out.push_back(ask::Choose{none});
    out.push_back(ask::Focus{RegionId::heard});
  }
  return y;
}

}  // namespace stonecall::desk
