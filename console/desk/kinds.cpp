#include "console/desk/kinds.hpp"

#include <algorithm>
#include <cmath>

#include <GLFW/glfw3.h>

#include "console/desk/kinds_words.hpp"
#include "console/desk/numbers_age.hpp"
#include "console/desk/section.hpp"

namespace stonecall::desk {
namespace {

using advise::Ground;

// Design pixels.
constexpr float same_ground_line = 26;
constexpr float growth_at_ease = 120;  // of the curve of kinds met
constexpr std::size_t least_rows = 4;  // for which what is said below them gives way

/// At the base, and before the first station, there are no kinds of its own: what is known of all
/// places is shown.
bool at_base(const View& view) {
  const protocol::Plan* plan = view.plan();
  if (!plan || !view.assessment) return false;
  const std::string& here = view.assessment->here.station;
  return here.empty() || here == plan->base.station;
}

bool shows_whole(const View& view, const KindsState& state) {
  return state.whole || at_base(view);
}

/// The switch at the right end of the heading, of which as much is shown as has room right of
/// `left`. Returns the x left of it.
float draw_switch(const View& view, KindsState& state, Canvas& canvas, float left, float baseline) {
  const Fonts& f = canvas.fonts();
  struct Choice {
    std::string words;
    bool whole;
  };
  const std::string here = view.assessment && !view.assessment->here.station.empty()
                               ? "at " + view.assessment->here.station
                               : "here";
  float x = canvas.area().right();
  for (const Choice& choice : {Choice{"whole exercise", true}, Choice{here, false}}) {
    if (!choice.whole && at_base(view)) continue;
    const bool on = shows_whole(view, state) == choice.whole;
    const Font font{Type::fine, on ? Weight::semibold : Weight::regular};
    const float w = f.width(font, choice.words);
    // Where there is no room for both, the one that is shown is named, or none.
    const float both = w + canvas.px(18) + f.width({Type::fine, Weight::semibold}, here);
    if (x - w < left || (!on && choice.whole && x - both < left)) continue;
    x -= w;
    canvas.text({x, baseline}, font, on ? Ink::ink : Ink::soft, choice.words);
    if (on) canvas.rule(x, x + w, baseline + canvas.px(4), Ink::ink);
    if (canvas.press(choice.words, {x - canvas.px(6), baseline - canvas.px(14), w + canvas.px(12),
                                    canvas.px(22)}))
      state.whole = choice.whole;
    x -= canvas.px(18);
  }
  return x;
}

/// Of which moment the figures are, where that has to be said.
std::string moment_words(const View& view, const ClockText& clock) {
  std::string late = outdated_words(view, clock);
  if (late.empty() && view.mode == Mode::replay && view.playback && view.playback->end_beside)
    late = view.end() ? "the end beside: Ctrl+E" : "the end is worked out";
  return late;
}

/// Returns the y below.
float draw_kinds_heading(const View& view, KindsState& state, Canvas& canvas) {
  constexpr Font font{Type::fine};
  const float top = canvas.heading("Kinds"), baseline = top - canvas.px(15);
  const float names_end = canvas.area().x +
                          canvas.fonts().width({Type::title, Weight::semibold}, "Kinds") +
                          canvas.beside_name() + canvas.px(16);
  const float room = draw_switch(view, state, canvas, names_end, baseline) - names_end;
  const std::string words = moment_words(view, canvas.clock());
  if (!words.empty() && room > canvas.px(40))
    canvas.text({names_end, baseline}, font, Ink::soft,
                ellipsis(canvas.fonts(), font, words, std::max(0.0F, room)));
  return top;
}

/// Returns the y below.
float draw_same_ground(const advise::Assessment& assessment, Canvas& canvas, float top) {
  constexpr float a_row = 23;
  const Rect& area = canvas.area();
  const std::string same = same_ground_text(assessment);
  if (same.empty() ||
      area.bottom() - top < canvas.px(same_ground_line + table_head + table_axis + a_row))
    return top;
  canvas.text({area.x, top + canvas.px(12)}, {Type::text},
              assessment.same_ground ? Ink::ink : Ink::soft,
              ellipsis(canvas.fonts(), {Type::text}, same, area.w));
  return top + canvas.px(same_ground_line);
}

/// What a frame shows, and where: from `top` down, in `free` pixels.
struct Shown {
  const View& view;
  const BothTimes& known;
  const std::vector<std::size_t>& rows;
  const KindsWords& words;
  const float top, free;

  TableRows within(const Canvas& canvas, float room, float at_most) const {
    return rows_within(canvas, known.end().has_value(), rows.size(), room, at_most);
  }
};

/// The table with what is known of the chosen kind, in place of what is not seen yet. That is given
/// what it needs, of a long list so much that most of the table stays in sight; in a low place the
/// chosen row stands above it alone.
void draw_with_record(const Shown& shown, const std::string& rock, KindsState& state,
                      Canvas& canvas, Commands& out) {
  constexpr float least_record = 90, head_and_axis = table_head + table_axis;
  constexpr float a_row = pitch_at_ease, most_rows = a_row * 5;
  const float needs = opened_height(shown.view, state.opened, canvas, rock);
  const float rests = shown.words.rests_height(Said::whole), free = shown.free;
  const bool low = free < canvas.px(head_and_axis + most_rows + least_record) + rests;
  const float wanted =
      low ? free - canvas.px(head_and_axis + a_row)
          : std::min(free * 0.5F, free - rests - canvas.px(head_and_axis + most_rows));
  const float least = std::max(canvas.px(least_record), wanted);
  const Said say = low && needs > least - rests ? Said::not_at_all : Said::whole;
  const float above = free - shown.words.rests_height(say);
  const bool spare =
      above - needs >=
      canvas.px(head_and_axis) + canvas.px(pitch_at_ease) * static_cast<float>(shown.rows.size());
  const TableRows room = shown.within(canvas, above - std::min(needs, least),
                                      canvas.px(spare ? most_pitch : pitch_at_ease));
  float y = draw_kinds_table(shown.known, shown.rows, room, state.opened.kind != rock, state.table,
                             canvas, shown.top, out);
  shown.words.draw_rests(say, canvas, y);
  y += shown.words.rests_height(say);
  const float least_high = canvas.px(section_head) + canvas.fonts().line_height(Type::text);
  if (y + least_high <= canvas.area().bottom())
    draw_opened(shown.view, state.opened, canvas, rock, y, out);
}

/// The fullest way below that shows the most rows, with these.
std::pair<Below, TableRows> fullest_way(const Shown& shown, const Canvas& canvas) {
  Below way;
  TableRows best;
  for (std::size_t i = 0; i < ways_below.size(); ++i) {
    if (i >= ways_that_say_all && best.shown >= std::min(shown.rows.size(), least_rows)) break;
    const TableRows fit =
        shown.within(canvas, shown.free - shown.words.height(ways_below[i]), canvas.px(most_pitch));
    if (i > 0 && fit.shown <= best.shown) continue;
    best = fit;
    way = ways_below[i];
  }
  return {way, best};
}

/// Rows further apart than this take the room of the curve of kinds met, which is worth more than
/// air between them.
float pitch_beside_growth(const Shown& shown, const Canvas& canvas, float pitch) {
  const auto& unseen = shown.known.then().unseen;
  if (!unseen || unseen->growth.size() < 2 || shown.rows.empty()) return pitch;
  const float rows = static_cast<float>(shown.rows.size());
  const float body =
      shown.free - shown.words.height(ways_below.front()) - canvas.px(table_head + table_axis);
  if (body < canvas.px(pitch_at_ease) * rows + canvas.px(growth_at_ease)) return pitch;
  return std::clamp(std::floor((body - canvas.px(growth_at_ease)) / rows), canvas.px(pitch_at_ease),
                    canvas.px(most_pitch));
}

void draw_with_words(const Shown& shown, KindsState& state, Canvas& canvas, Commands& out) {
  auto [way, room] = fullest_way(shown, canvas);
  if (way == ways_below.front() && !room.two_lines)
    room.pitch = pitch_beside_growth(shown, canvas, room.pitch);
  float y =
      draw_kinds_table(shown.known, shown.rows, room, false, state.table, canvas, shown.top, out);
  shown.words.draw_rests(way.rests, canvas, y);
  y += shown.words.rests_height(way.rests);
  shown.words.draw_unseen(way.unseen, way.warned, canvas, y);
  shown.words.draw_warned(way.warned, canvas);
}

}  // namespace

Commands draw_kinds(const View& view, KindsState& state, Canvas& canvas) {
  Commands out;
  const Rect& area = canvas.area();
  if (canvas.asked("kinds.whole") && !at_base(view)) state.whole = !state.whole;
  const bool whole = shows_whole(view, state);
  if (canvas.asked("kinds.all")) state.table.all = !state.table.all;
  if (canvas.asked("kinds.copy"))
    out.push_back(ask::CopyText{kinds_as_text(view, whole, canvas.clock())});
  float y = draw_kinds_heading(view, state, canvas);
  if (!view.assessment || !view.picture) {
    canvas.text({area.x, y + canvas.px(14)}, {Type::text}, Ink::soft, "Nothing heard yet.");
    return out;
  }
  if (!whole) y = draw_same_ground(*view.assessment, canvas, y);
  const BothTimes known(view, whole);
  const auto rows = rows_of(known, state.table.all);
  const KindsWords words(canvas, known.then(), *view.picture);
  const Shown shown{view, known, rows, words, y, area.bottom() - y - canvas.px(table_gap)};
  if (canvas.chosen().rock) {
    draw_with_record(shown, *canvas.chosen().rock, state, canvas, out);
  } else {
    state.opened.kind.clear();
    draw_with_words(shown, state, canvas, out);
  }
  return out;
}

float kinds_height(const View& view, KindsState& state, const Canvas& canvas) {
  if (!view.assessment || !view.picture) return 0;
  const bool whole = shows_whole(view, state);
  const BothTimes known(view, whole);
  const KindsWords words(canvas, known.then(), *view.picture);
  const float pitch = known.end() ? least_pitch_of_two : pitch_at_ease;
  const float same = whole || same_ground_text(*view.assessment).empty() ? 0 : same_ground_line;
  // Of what is opened, the sample stood on with its checklist.
  constexpr float opened_lines = 13;
  const float opened =
      canvas.chosen().rock
          ? std::min(opened_height(view, state.opened, canvas, *canvas.chosen().rock),
                     canvas.px(section_head + record_pitch * opened_lines))
          : 0;
  // So many lines its sentences take as a rule: one that happens to be shorter moves nothing.
  constexpr std::size_t rests_lines = 2, unseen_lines = 3;
  return canvas.heading_height() + canvas.px(same) +
         canvas.px(table_head + table_axis + table_gap) +
         canvas.px(pitch) * static_cast<float>(rows_of(known, state.table.all).size()) +
         words.rests_height(Said::whole, rests_lines) +
         std::max(words.unseen_height(Said::whole, unseen_lines) + words.warned_height(Said::whole),
                  opened);
}

std::span<const KeyLine> kinds_keys() {
  constexpr auto here = RegionId::kinds;
  static const std::vector<KeyLine> lines{
      {"kinds.up", "kind before", {{GLFW_KEY_UP, 0}}, here},
      {"kinds.down", "kind after", {{GLFW_KEY_DOWN, 0}}, here},
      {"kinds.next_sample",
       "of the opened kind: next sample, place, word",
       {{GLFW_KEY_RIGHT, 0}},
       here},
      {"kinds.sample_before", "the one before", {{GLFW_KEY_LEFT, 0}}, here},
      {"kinds.show", "show it in Heard", {{GLFW_KEY_ENTER, 0}, {GLFW_KEY_KP_ENTER, 0}}, here},
      {"kinds.page_down", "on through its lines", {{GLFW_KEY_PAGE_DOWN, 0}}, here},
      {"kinds.page_up", "back through its lines", {{GLFW_KEY_PAGE_UP, 0}}, here},
      {"kinds.whole", "here or whole exercise", {{GLFW_KEY_W, 0}}, here},
      {"kinds.all", "all kinds of the list, or those of note", {{GLFW_KEY_A, 0}}, here},
      {"kinds.copy", "copy the table", {{GLFW_KEY_C, GLFW_MOD_CONTROL}}, here},
      {"kinds.close", "nothing chosen", {{GLFW_KEY_ESCAPE, 0}}, here},
  };
  return lines;
}

}  // namespace stonecall::desk
