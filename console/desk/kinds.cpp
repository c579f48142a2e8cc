#include "console/desk/kinds.hpp"

#include <algorithm>
#include <array>
#include <cmath>
#include <functional>
#include <map>
#include <ranges>
#include <utility>

#include <GLFW/glfw3.h>
#include <fmt/format.h>

#include "console/desk/chart_painter.hpp"
#include "console/desk/deciding.hpp"
#include "console/desk/fact_text.hpp"
#include "console/desk/numbers_age.hpp"
#include "console/plates/kinds_plate.hpp"
#include "console/plates/sample_text.hpp"

namespace stonecall::desk {

/// One line of what is known about a kind. Lines that belong to one entry (a sample with its gaps)
/// are walked over as one.
struct DrillLine {
  std::string left, text, right;
  Ink ink = Ink::ink, right_ink = Ink::soft;
  std::string entry;  ///< which it belongs to; empty: the name of a part
  std::optional<protocol::Uuid> event;
  std::optional<std::string> sample, station;
};

namespace {

using advise::Ground;
using advise::KindRow;

constexpr Font label{Type::fine};
constexpr Font value{Type::lead};
constexpr float same_ground_line = 26;  // design pixels
constexpr std::string_view not_seen_yet = "Not seen yet";
constexpr std::size_t most_warnings = 3;

/// Middle of a line of type within a row that begins at `top`.
float baseline_in(const Canvas& canvas, float top, float height, Type type) {
  return top + std::round((height + canvas.fonts().cap_height(type)) / 2);
}

/// What is shown: as known then, and as known at the end where that is laid beside, with the same
/// kinds in the same order.
struct BothTimes {
  std::optional<Ground> end;

  /// Of a view with an assessment, which is referred to.
  BothTimes(const View& view, bool whole)
      : then_(whole ? view.assessment->whole : view.assessment->here) {
    const AtTheEnd* later = view.end();
    if (!later) return;
    end = plates::in_order_of(whole ? later->whole : later->here.here, then_);
    ordered_ = plates::in_order_of(then_, *end);
  }

  const Ground& then() const { return ordered_ ? *ordered_ : then_; }

 private:
  const Ground& then_;
  std::optional<Ground> ordered_;
};

/// Kinds of note; where the end is laid beside those that either time knows, for the others have
/// nothing to compare.
std::vector<std::size_t> rows_of(const BothTimes& known, bool all) {
  const auto of_note = [&](std::size_t i) {
    const auto met = [](const KindRow& row) { return row.first_seen || row.share; };
    const KindRow& then = known.then().kinds[i];
    return known.end ? met(then) || met(known.end->kinds[i]) : plates::says_something(then);
  };
  std::vector<std::size_t> rows;
  for (std::size_t i = 0; i < known.then().kinds.size(); ++i)
    if (all || of_note(i)) rows.push_back(i);
  return rows;
}

/// Where the columns of the table end (right-aligned), from the region's left edge.
struct Columns {
  float name = 0, name_width = 0, bagged = 0, documented = 0, first = 0;
  float chart = 0, chart_width = 0;
  float mean = 0, interval = 0;
  bool show_first = false, show_interval = false;
};

Columns columns_for(const Canvas& canvas, const Ground& ground,
                    const std::vector<std::size_t>& rows) {
  const Fonts& f = canvas.fonts();
  const float w = canvas.area().w;
  float widest = canvas.px(70);
  for (std::size_t i : rows)
    widest = std::max(widest, f.width({Type::lead, Weight::medium}, ground.kinds[i].rock));
  Columns c;
  c.show_first = w >= canvas.px(460);
  c.show_interval = w >= canvas.px(360);
  c.name = canvas.px(24);
  c.name_width = std::ceil(std::min(widest, std::max(canvas.px(84), w * 0.29F)));
  c.bagged = c.name + c.name_width + canvas.px(54);
  c.documented = c.bagged + canvas.px(52);
  c.first = c.documented + (c.show_first ? canvas.px(42) : 0);
  c.interval = w;
  c.mean = c.show_interval ? w - canvas.px(46) : w;
  c.chart = c.first + canvas.px(8);
  c.chart_width = c.mean - canvas.px(40) - c.chart;
  if (c.chart_width < canvas.px(40)) c.chart_width = 0;  // the figures alone then
  return c;
}

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

/// The switch at the right end of the heading; returns the content's top.
float draw_heading(const View& view, KindsState& state, Canvas& canvas) {
  float top = canvas.heading("Kinds");
  float baseline = top - canvas.px(15), x = canvas.area().right();
  const float names_end = canvas.area().x +
                          canvas.fonts().width({Type::title, Weight::semibold}, "Kinds") +
                          canvas.beside_name() + canvas.px(16);
  struct Choice {
    std::string words;
    bool whole;
  };
  std::string here = view.assessment && !view.assessment->here.station.empty()
                         ? "at " + view.assessment->here.station
                         : "here";
  for (const Choice& choice : {Choice{"whole exercise", true}, Choice{here, false}}) {
    if (!choice.whole && at_base(view)) continue;
    bool on = shows_whole(view, state) == choice.whole;
    Font font{Type::fine, on ? Weight::semibold : Weight::regular};
    float w = canvas.fonts().width(font, choice.words);
    // Where there is no room for both, the one that is shown is named, or none.
    const float both =
        w + canvas.px(18) + canvas.fonts().width({Type::fine, Weight::semibold}, here);
    if (x - w < names_end || (!on && choice.whole && x - both < names_end)) continue;
    x -= w;
    canvas.text({x, baseline}, font, on ? Ink::ink : Ink::soft, choice.words);
    if (on) canvas.rule(x, x + w, baseline + canvas.px(4), Ink::ink);
    if (canvas.press(choice.words, {x - canvas.px(6), baseline - canvas.px(14), w + canvas.px(12),
                                    canvas.px(22)}))
      state.whole = choice.whole;
    x -= canvas.px(18);
  }
  std::string late = outdated_words(view, canvas.clock());
  if (late.empty() && view.mode == Mode::replay && view.playback && view.playback->end_beside)
    late = view.end() ? "the end beside: Ctrl+E" : "the end is worked out";
  if (!late.empty() && x - names_end > canvas.px(40)) {
    canvas.text({names_end, baseline}, label, Ink::soft,
                ellipsis(canvas.fonts(), label, late, std::max(0.0F, x - names_end)));
  }
  return top;
}

Chosen with_rock(const Canvas& canvas, std::optional<std::string> rock) {
  Chosen chosen = canvas.chosen();
  chosen.rock = std::move(rock);
  return chosen;
}

/// A name that has no room loses letters of its first word, "hydroth. breccia": the last says most.
std::string shortened(const Fonts& fonts, Font font, const std::string& name, float width) {
  constexpr std::size_t least_letters = 4;
  const std::size_t space = name.find(' ');
  if (fonts.width(font, name) > width && space != std::string::npos) {
    for (std::size_t letters = space - std::min<std::size_t>(space, 2); letters >= least_letters;
         --letters) {
      if ((name[letters] & 0xC0) == 0x80) continue;  // within a letter
      std::string brief = name.substr(0, letters) + "." + name.substr(space);
      if (fonts.width(font, brief) <= width) return brief;
    }
  }
  return ellipsis(fonts, font, name, width);
}

void draw_row(const KindRow& row, std::size_t series, const Columns& c, Canvas& canvas, Rect box) {
  const float x = canvas.area().x;
  bool met = row.first_seen.has_value();
  bool short_of = row.wanted > row.bagged;
  float y = box.y + std::round(box.h / 2), lead = baseline_in(canvas, box.y, box.h, Type::lead),
        fine = baseline_in(canvas, box.y, box.h, Type::fine);
  canvas.glyph({x + canvas.px(7), y}, canvas.px(11), kind_ink(canvas.theme(), series));
  std::string name =
      shortened(canvas.fonts(), {Type::lead, Weight::medium}, row.rock, c.name_width);
  canvas.text({x + c.name, lead}, {Type::lead, Weight::medium}, met ? Ink::ink : Ink::soft, name);
  std::string about = plates::label_text(row);
  if (name != row.rock || !about.empty())
    canvas.tip({x, box.y, c.name + c.name_width, box.h},
               about.empty() ? row.rock : row.rock + ": " + about);

  // "1 of 2": what is bagged in ink, what is wanted beside it; the wish is rust while it is open.
  std::string of = row.wanted > 0 ? fmt::format(" of {}", row.wanted) : "";
  float of_width = canvas.fonts().figures_width(label, " of 0");
  if (!of.empty())
    canvas.figures({x + c.bagged - of_width, lead}, label, short_of ? Ink::rust : Ink::soft, of);
  canvas.figures({x + c.bagged - of_width - canvas.px(1), lead},
                 {Type::lead, row.bagged > 0 ? Weight::semibold : Weight::regular},
                 row.bagged > 0 ? Ink::ink : Ink::soft, std::to_string(row.bagged), Align::right);

  bool undocumented = row.documented < row.bagged;
  std::string documented = row.bagged > 0 ? std::to_string(row.documented) : "–";
  canvas.figures({x + c.documented, lead},
                 {Type::lead, undocumented ? Weight::semibold : Weight::regular},
                 undocumented ? Ink::rust : Ink::soft, documented, Align::right);
  if (c.show_first)
    canvas.figures({x + c.first, fine}, label, Ink::soft,
                   row.first_seen ? canvas.clock().minutes(*row.first_seen) : "–", Align::right);

  if (row.share) {
    canvas.figures({x + c.mean, lead}, value, met ? Ink::ink : Ink::soft,
                   plates::mean_text(*row.share), Align::right);
    if (c.show_interval)
      canvas.figures({x + c.interval, lead}, label, Ink::soft, plates::interval_text(*row.share),
                     Align::right);
  } else {
    canvas.text({x + c.interval, fine}, label, Ink::soft,
                row.said_absent ? "named absent"
                : met           ? "no basis"
                                : "not met",
                Align::right);
  }
}

/// The same row as known at the end, below it in smaller type.
void draw_end_row(const KindRow& row, const Columns& c, Canvas& canvas, Rect box) {
  const float x = canvas.area().x, fine = baseline_in(canvas, box.y, box.h, Type::fine);
  const auto figures = [&](float right, const std::string& text) {
    canvas.figures({x + right, fine}, label, Ink::soft, text, Align::right);
  };
  canvas.text({x + c.name, fine}, label, Ink::soft, "at the end");
  figures(c.bagged - canvas.fonts().figures_width(label, " of 0") - canvas.px(1),
          std::to_string(row.bagged));
  figures(c.documented, row.bagged > 0 ? std::to_string(row.documented) : "–");
  if (c.show_first)
    figures(c.first, row.first_seen ? canvas.clock().minutes(*row.first_seen) : "–");
  if (!row.share) {
    canvas.text({x + c.interval, fine}, label, Ink::soft, row.first_seen ? "no basis" : "not met",
                Align::right);
    return;
  }
  figures(c.mean, plates::mean_text(*row.share));
  if (c.show_interval) figures(c.interval, plates::interval_text(*row.share));
}

// Design pixels.
constexpr float table_head = 20, table_axis = 22, table_gap = 3;
constexpr float least_pitch = 21, pitch_at_ease = 23, most_pitch = 32;
constexpr float least_pitch_of_two = 35, most_pitch_of_two = 38;  // with the end beside

/// The rows of the table that are shown, and how far apart, in pixels.
struct Rows {
  std::size_t shown = 0;
  float pitch = 0;
  bool two_lines = false;  ///< each with what is known at the end below it
};

/// As many of `all` rows as have room.
Rows rows_within(const Canvas& canvas, bool end_beside, std::size_t all, float room,
                 float at_most) {
  const float body = room - canvas.px(table_head) - canvas.px(table_axis);
  // Where two lines have no room, the end is in the chart alone.
  const bool two = end_beside && body >= canvas.px(least_pitch_of_two);
  const float least = canvas.px(two ? least_pitch_of_two : least_pitch);
  const auto fit = static_cast<std::size_t>(std::max(1.0F, std::floor(body / least)));
  const std::size_t shown = std::min(fit, all);
  const float pitch =
      std::clamp(std::floor(body / static_cast<float>(std::max<std::size_t>(1, shown))), least,
                 std::max(least, two ? canvas.px(most_pitch_of_two) : at_most));
  return {shown, pitch, two};
}

/// The table; returns the y below it.
float draw_table(const BothTimes& known, const std::vector<std::size_t>& rows, const Rows& room,
                 KindsState& state, Canvas& canvas, float top, Commands& out) {
  const Rect& area = canvas.area();
  const Ground& ground = known.then();
  Columns c = columns_for(canvas, ground, rows);
  float head = canvas.px(table_head), axis = canvas.px(table_axis);
  float baseline = top + canvas.px(13);
  canvas.text({area.x + c.bagged, baseline}, label, Ink::soft, "bagged", Align::right);
  canvas.text({area.x + c.documented, baseline}, label, Ink::soft, "docum.", Align::right);
  if (c.show_first)
    canvas.text({area.x + c.first, baseline}, label, Ink::soft, "first", Align::right);
  const float beside_axis = area.w - c.chart - canvas.px(6);
  std::string_view heading = known.end ? "share, 90 %; ring: the end" : "share of the ground, 90 %";
  if (canvas.fonts().width(label, heading) > beside_axis) heading = "share, 90 %";
  if (c.chart_width == 0)
    canvas.text({area.x + c.mean, baseline}, label, Ink::soft, "share", Align::right);
  else
    canvas.text({area.x + c.chart + canvas.px(6), baseline}, label, Ink::soft,
                ellipsis(canvas.fonts(), label, heading, beside_axis));
  top += head;
  canvas.rule(area.x, area.right(), top - canvas.px(1));

  const auto [shown, pitch, beside] = room;
  const std::size_t last = rows.size() - shown;
  state.hidden = last;
  Rect table{area.x, top, area.w, static_cast<float>(shown) * pitch};
  if (last > 0 && canvas.pointer().over && table.contains(canvas.pointer().at)) {
    if (canvas.pointer().wheel < 0) state.row = std::min(last, state.row + 1);
    if (canvas.pointer().wheel > 0 && state.row > 0) --state.row;
  }

  // The keyboard walks through the rows; the table follows it.
  std::optional<std::size_t> at;
  for (std::size_t i = 0; i < rows.size(); ++i)
    if (canvas.chosen().rock == ground.kinds[rows[i]].rock) at = i;
  if (!rows.empty() && (canvas.asked("kinds.down") || canvas.asked("kinds.up"))) {
    std::size_t to = canvas.asked("kinds.down") ? (at ? std::min(*at + 1, rows.size() - 1) : 0)
                                                : (at && *at > 0 ? *at - 1 : 0);
    out.push_back(ask::Choose{with_rock(canvas, ground.kinds[rows[to]].rock)});
    if (to < state.row) state.row = to;
    if (to >= state.row + shown) state.row = to + 1 - shown;
  }
  if (canvas.asked("kinds.close")) out.push_back(ask::Choose{});
  // A kind just chosen, wherever it was chosen, is shown.
  if (at && (shown == 1 || canvas.chosen().rock != state.opened)) {
    if (*at < state.row) state.row = *at;
    if (*at >= state.row + shown) state.row = *at + 1 - shown;
  }
  state.row = std::min(state.row, last);

  std::vector<std::size_t> drawn(rows.begin() + static_cast<std::ptrdiff_t>(state.row),
                                 rows.begin() + static_cast<std::ptrdiff_t>(state.row + shown));
  for (std::size_t i = 0; i < drawn.size(); ++i) {
    const KindRow& row = ground.kinds[drawn[i]];
    Rect box{area.x, top + static_cast<float>(i) * pitch, area.w, pitch};
    bool chosen = canvas.chosen().rock == row.rock;
    if (chosen)
      canvas.fill({box.x - canvas.px(6), box.y + 1, box.w + canvas.px(12), box.h - 1}, Ink::chosen,
                  canvas.px(3));
    canvas.rule(area.x, area.right(), box.bottom());
    if (canvas.press(row.rock, box))
      out.push_back(
          ask::Choose{with_rock(canvas, chosen ? std::nullopt : std::optional(row.rock))});
  }
  float scale = canvas.fonts().scale();
  charts::IntervalRows plate = known.end ? plates::then_and_end_plate(ground, *known.end, drawn)
                                         : plates::share_plate(ground, drawn);
  for (auto& row : plate.rows) row.words.clear();  // the table has them
  plate.width = c.chart_width / scale;
  plate.row_height = pitch / scale;
  // Where the quarters have no room, the halves: an axis without one of its marks looks broken.
  constexpr double quarters_from = 120;
  if (plate.width < quarters_from) plate.ticks = {{0, "0"}, {0.5, "50"}, {1, "100"}};
  if (c.chart_width > 0)
    paint(canvas, charts::interval_rows(plate, measure_of(canvas.fonts())),
          {area.x + c.chart, top});
  for (std::size_t i = 0; i < drawn.size(); ++i) {
    const float y = top + static_cast<float>(i) * pitch;
    const float upper = beside ? std::round(pitch * 0.72F) : pitch;
    draw_row(ground.kinds[drawn[i]], drawn[i], c, canvas, {area.x, y, area.w, upper});
    if (beside)
      draw_end_row(known.end->kinds[drawn[i]], c, canvas,
                   {area.x, y + std::round(pitch * 0.5F), area.w, std::round(pitch * 0.5F)});
  }

  float y = table.bottom();
  std::size_t hidden = ground.kinds.size() - rows.size();
  std::string more;
  if (last > 0)
    more = fmt::format("{} of {} kinds shown", shown, rows.size());
  else if (hidden > 0)
    more = fmt::format("{} more of the list, not met", hidden);
  else if (state.all)
    more = "only kinds of note";
  if (!more.empty()) {
    Rect words{area.x, y + canvas.px(2), c.chart, axis};
    canvas.text({area.x, y + canvas.px(17)}, label, Ink::soft,
                ellipsis(canvas.fonts(), label, more, words.w - canvas.px(4)));
    if (last == 0 && canvas.press("more", words)) state.all = !state.all;
  }
  return y + axis + canvas.px(table_gap);
}

/// A section's name, with a line of soft text at its right end; returns the y below.
float draw_section(Canvas& canvas, float top, std::string_view name, std::string_view aside,
                   Ink ink = Ink::ink) {
  const Rect& area = canvas.area();
  canvas.rule(area.x, area.right(), top);
  float baseline = top + canvas.px(23);
  constexpr Font title{Type::lead, Weight::semibold};
  float w = canvas.text({area.x, baseline}, title, ink, name);
  if (!aside.empty())
    canvas.text({area.right(), baseline}, label, Ink::soft,
                ellipsis(canvas.fonts(), label, aside, area.w - w - canvas.px(16)), Align::right);
  return top + canvas.px(32);
}

std::string figure_text(const advise::Figure& f, int digits) {
  return fmt::format("{:.{}f} ({:.{}f}–{:.{}f})", f.mean, digits, f.low, digits, f.high, digits);
}

std::string disagreement_text(const advise::Disagreement& d, const ClockText& clock) {
  return fmt::format("{} said {} {} ({}); the counts say {:.0f}–{:.0f} %.", d.caller, d.rock,
                     range_text({d.said_low * 100, d.said_high * 100}), clock.minutes(d.at),
                     d.counts_low * 100, d.counts_high * 100);
}

/// What wants a look: spoken shares against the counts, and what was flagged, a bag given twice or
/// a sample told differently. The newest of each; how many earlier ones there are.
struct Warnings {
  std::vector<std::string> words;
  std::size_t earlier = 0;
};

Warnings warnings_of(const Ground& ground, const picture::Picture& picture,
                     const ClockText& clock) {
  using What = picture::Flag::What;
  const auto wants_eyes = [](const picture::Flag& flag) {
    return flag.what != What::outside_vocabulary && flag.what != What::unplanned_station;
  };
  Warnings out;
  auto newest = [&](auto&& all, std::size_t most, auto&& words) {
    const auto count = static_cast<std::size_t>(std::ranges::distance(all));
    const std::size_t skipped = count > most ? count - most : 0;
    out.earlier += skipped;
    for (const auto& each : all | std::views::drop(skipped)) out.words.push_back(words(each));
  };
  auto flagged = picture.flags | std::views::filter(wants_eyes);
  const std::size_t of_flags = flagged.begin() == flagged.end() ? 0 : 1;
  newest(ground.disagreements, most_warnings - of_flags,
         [&](const advise::Disagreement& d) { return disagreement_text(d, clock); });
  newest(flagged, most_warnings - out.words.size(),
         [](const picture::Flag& flag) { return flag.text + "."; });
  return out;
}

/// What is said of kinds not seen yet.
std::vector<std::pair<Ink, std::string>> unseen_sentences(const Ground& ground) {
  if (!ground.unseen)
    return {{Ink::soft,
             "No basis: nothing was counted without choosing. Ask for a tally, “count ten "
             "underfoot”."}};
  const auto& unseen = *ground.unseen;
  const auto& soon = unseen.new_in_ten_minutes;
  return {
      {Ink::ink,
       fmt::format("Next rock is a new kind: {}. New kinds in ten minutes: {}.",
                   plates::share_text(unseen.next_is_new),
                   soon ? fmt::format("{:.1f} ({:.0f}–{:.0f})", soon->mean, soon->low, soon->high)
                        : "no basis")},
      {Ink::soft, fmt::format("To meet any kind of 5 % or more with 95 %: {} looked at; {} done.",
                              unseen.needed_for_five_percent, unseen.counted)}};
}

/// The same in one line of this width.
std::string unseen_in_brief(const Ground& ground, const Fonts& fonts, float width) {
  if (!ground.unseen) return "no basis; ask for a tally, “count ten underfoot”";
  const std::string next = plates::share_text(ground.unseen->next_is_new);
  const auto& soon = ground.unseen->new_in_ten_minutes;
  if (!soon) return "next rock " + next;
  const std::string later =
      fmt::format("{:.1f} ({:.0f}–{:.0f})", soon->mean, soon->low, soon->high);
  const std::string words = "next rock " + next + ", in ten minutes " + later;
  return fonts.width({Type::text}, words) <= width ? words
                                                   : "next " + next + ", in 10 min " + later;
}

enum class Said { whole, brief, not_at_all };

/// What is said below the table, and at what length.
struct Below {
  Said rests = Said::whole, unseen = Said::whole, warned = Said::whole;
  bool operator==(const Below&) const = default;
};
/// From the fullest on. The first four say all that has to be said; the others only serve a place
/// where hardly a row had room beside them.
constexpr std::array ways_below{Below{Said::whole, Said::whole, Said::whole},
                                Below{Said::whole, Said::brief, Said::whole},
                                Below{Said::whole, Said::brief, Said::brief},
                                Below{Said::brief, Said::brief, Said::brief},
                                Below{Said::brief, Said::not_at_all, Said::brief},
                                Below{Said::brief, Said::not_at_all, Said::not_at_all},
                                Below{Said::not_at_all, Said::not_at_all, Said::not_at_all}};
constexpr std::size_t ways_that_say_all = 4, least_rows = 4;
// Design pixels.
constexpr float section_head = 32, brief_section = 24, rests_gap = 12, warned_gap = 8;
constexpr float least_growth = 64, growth_at_ease = 120;

/// The texts below the table, and how high they stand.
class Words {
 public:
  Words(const Canvas& canvas, const Ground& ground, const picture::Picture& picture)
      : rests(plates::basis_text(ground.basis)),
        unseen(unseen_sentences(ground)),
        warned(warnings_of(ground, picture, canvas.clock())),
        canvas_(canvas),
        rests_lines_(lines_of(rests)) {
    for (const auto& [ink, sentence] : unseen) unseen_lines_ += lines_of(sentence);
    for (const std::string& words : warned.words) warned_lines_ += lines_of(words);
  }

  std::string rests;
  std::vector<std::pair<Ink, std::string>> unseen;
  Warnings warned;

  float rests_high(Said said, std::size_t at_least = 1) const {
    if (said == Said::not_at_all) return 0;
    const std::size_t lines = said == Said::brief ? 1 : std::max(at_least, rests_lines_);
    return high(lines) + canvas_.px(rests_gap);
  }
  float unseen_high(Said said, std::size_t at_least = 1) const {
    if (said == Said::not_at_all) return 0;
    if (said == Said::brief) return canvas_.px(brief_section);
    return canvas_.px(section_head) + high(std::max(unseen_lines_, at_least)) - canvas_.px(5);
  }
  float warned_high(Said said) const {
    if (said == Said::not_at_all || warned.words.empty()) return 0;
    if (said == Said::brief) return canvas_.px(warned_gap + brief_section);
    return canvas_.px(warned_gap + section_head + 4) + high(warned_lines_);
  }
  float high_of(const Below& way) const {
    return rests_high(way.rests) + unseen_high(way.unseen) + warned_high(way.warned);
  }

 private:
  std::size_t lines_of(const std::string& text) const {
    return wrap(canvas_.fonts(), {Type::text}, text, canvas_.area().w).size();
  }
  float high(std::size_t lines) const {
    return static_cast<float>(lines) * canvas_.fonts().line_height(Type::text);
  }

  const Canvas& canvas_;
  std::size_t rests_lines_ = 1, unseen_lines_ = 0, warned_lines_ = 0;
};

/// A section in one line: its name, and as much of the words as has room.
void draw_brief(Canvas& canvas, float top, std::string_view name, Ink ink, const std::string& words,
                const std::string& in_full) {
  const Rect& area = canvas.area();
  canvas.rule(area.x, area.right(), top);
  const float baseline = top + canvas.px(19);
  const float x = area.x +
                  canvas.text({area.x, baseline}, {Type::text, Weight::semibold}, ink, name) +
                  canvas.px(10);
  canvas.text({x, baseline}, {Type::text}, ink,
              ellipsis(canvas.fonts(), {Type::text}, words, area.right() - x));
  canvas.tip({area.x, top, area.w, canvas.px(brief_section)}, in_full);
}

void draw_rests(const Words& words, Said said, const Ground& ground, Canvas& canvas, float top) {
  const Rect& area = canvas.area();
  const Ink ink = ground.basis.any() ? Ink::soft : Ink::rust;
  const ImVec2 at{area.x, top + canvas.px(14)};
  if (said == Said::whole) {
    canvas.paragraph(at, {Type::text}, ink, words.rests, area.w);
  } else if (said == Said::brief) {
    const std::string cut = ellipsis(canvas.fonts(), {Type::text}, words.rests, area.w);
    canvas.text(at, {Type::text}, ink, cut);
    if (cut != words.rests) canvas.tip({area.x, top, area.w, canvas.px(20)}, words.rests);
  }
}

void draw_unseen(const Words& words, Said said, const Ground& ground, float warned_high,
                 Canvas& canvas, float top) {
  const Rect& area = canvas.area();
  const Fonts& f = canvas.fonts();
  if (said == Said::brief) {
    std::string in_full;
    for (const auto& [ink, sentence] : words.unseen)
      in_full += (in_full.empty() ? "" : " ") + sentence;
    const float width =
        area.w - canvas.px(10) - f.width({Type::text, Weight::semibold}, not_seen_yet);
    draw_brief(canvas, top, not_seen_yet, Ink::ink, unseen_in_brief(ground, f, width), in_full);
    return;
  }
  const auto& unseen = ground.unseen;
  std::string aside = unseen ? "Chao1 at least " + figure_text(unseen->chao1, 1) + " kinds" : "";
  float y = draw_section(canvas, top, not_seen_yet, aside);
  for (const auto& [ink, sentence] : words.unseen)
    y += canvas.paragraph({area.x, y + canvas.px(11)}, {Type::text}, ink, sentence, area.w);
  const float room = area.bottom() - warned_high - y - canvas.px(6);
  if (!unseen || room < canvas.px(least_growth) || unseen->growth.size() < 2) return;
  charts::Growth plate = plates::growth_plate(*unseen);
  plate.width = area.w / f.scale();
  plate.height = std::min(room / f.scale(), std::max(220.0F, area.h / f.scale() * 0.26F));
  paint(canvas, charts::growth(plate, measure_of(f)), {area.x, y + canvas.px(4)});
}

/// What contradicts stands at the lower edge.
void draw_warned(const Words& words, Said said, Canvas& canvas) {
  const Rect& area = canvas.area();
  const Warnings& warned = words.warned;
  if (warned.words.empty() || said == Said::not_at_all) return;
  const float top = area.bottom() - words.warned_high(said) + canvas.px(warned_gap);
  constexpr std::string_view name = "Does not fit together";
  if (said == Said::brief) {
    std::string in_full;
    for (const auto& each : warned.words) in_full += (in_full.empty() ? "" : " ") + each;
    draw_brief(canvas, top, name, Ink::rust, warned.words.back(), in_full);
    return;
  }
  float y = draw_section(canvas, top, name,
                         warned.earlier > 0 ? fmt::format("{} more, F12", warned.earlier) : "",
                         Ink::rust);
  for (const auto& each : warned.words)
    y += canvas.paragraph({area.x, y + canvas.px(11)}, {Type::text}, Ink::rust, each, area.w);
}

DrillLine part_name(std::string name, std::string right = {}) {
  DrillLine line;
  line.text = std::move(name);
  line.right = std::move(right);
  return line;
}

void add_samples(const View& view, const std::string& rock, const ClockText& clock,
                 const std::string& here, const std::optional<std::string>& chosen,
                 std::vector<DrillLine>& lines) {
  const picture::Picture& p = *view.picture;
  const protocol::Documentation standard =
      p.plan ? p.plan->documentation : protocol::Documentation{};
  std::multimap<std::string_view, const picture::Sample*> bags;
  for (const auto& s : p.samples)
    if (!s.bag.empty()) bags.emplace(s.bag, &s);
  for (const auto& s : p.samples) {
    if (s.rock != rock || s.first > view.now) continue;
    const auto gaps = picture::gaps(s, standard);
    DrillLine line;
    line.sample = plates::sample_name(s);
    line.entry = "sample " + *line.sample;
    if (!s.statements.empty()) line.event = s.statements.front().id;
    const auto more = [&](std::string text, std::string right, Ink ink) {
      DrillLine below = line;
      below.text = std::move(text);
      below.right = std::move(right);
      below.ink = ink;
      below.right_ink = Ink::rust;
      lines.push_back(std::move(below));
    };
    DrillLine head = line;
    head.left = *line.sample;
    head.text = s.bag.empty() ? "no bag number" : "bag " + s.bag;
    if (!s.taken) head.text = "photographs only";
    if (!s.station.empty()) head.text += ", " + s.station;
    head.text += ", " + clock.minutes(s.first);
    if (s.unselective) head.text += ", not chosen";
    if (!s.picked.empty()) head.text += ", picked: " + s.picked;
    head.right = gaps.empty() ? "documented" : fmt::format("lacks {}", gaps.size());
    head.right_ink = gaps.empty() ? Ink::soft : Ink::rust;
    lines.push_back(std::move(head));
    // Of the chosen sample all that its documentation asks for, one by one.
    if (chosen == line.sample) {
      for (const plates::ChecklistItem& item : plates::checklist(s, p.plan ? &*p.plan : nullptr))
        more(std::string(item.what) + ": " + item.stands, item.missing ? "lacking" : "",
             item.missing ? Ink::rust : Ink::soft);
    } else if (!gaps.empty()) {
      const bool urgent =
          s.station == here && std::any_of(gaps.begin(), gaps.end(), picture::only_there);
      more(plates::gaps_text(gaps), urgent ? "only here" : "", urgent ? Ink::rust : Ink::soft);
    }
    if (p.plan)
      for (auto& doubt : plates::photo_doubts(s, *p.plan)) more(std::move(doubt), "", Ink::rust);
    const auto [first, end] = bags.equal_range(s.bag);
    for (auto other = first; other != end; ++other)
      if (other->second != &s)
        more("sample " + plates::sample_name(*other->second) + " has bag " + s.bag + " too",
             "bag twice", Ink::rust);
    for (auto& doubt : plates::contradictions(s)) more(std::move(doubt), "restated", Ink::rust);
  }
}

/// Each station where the kind was bagged, counted, told of or is expected, in the order in which
/// the party came there.
void add_places(const View& view, const std::string& rock, const ClockText& clock,
                std::vector<DrillLine>& lines) {
  const picture::Picture& p = *view.picture;
  struct Place {
    int bagged = 0, counted = 0, looked_at = 0;
    bool seen = false, absent = false;
    const picture::SpokenShare* share = nullptr;  ///< said last
    std::optional<double> expected;               ///< percent
  };
  std::vector<std::pair<std::string, Place>> places;
  const auto at = [&](const std::string& station) -> Place& {
    const std::string name = station.empty() ? "place not told" : station;
    const auto found = std::ranges::find(places, name, &std::pair<std::string, Place>::first);
    return found != places.end() ? found->second : places.emplace_back(name, Place{}).second;
  };
  for (const auto& s : p.samples)
    if (s.rock == rock && s.taken && s.first <= view.now) ++at(s.station).bagged;
  for (const auto& look : p.looks) {
    const auto count = std::ranges::find(look.counts, rock, &protocol::RockCount::rock);
    if (count == look.counts.end() || look.origin.at > view.now) continue;
    at(look.station).counted += count->count;
  }
  for (const auto& share : p.shares)
    if (share.rock == rock && share.origin.at <= view.now) at(share.station).share = &share;
  for (const auto& seen : p.sightings)
    if (seen.rock == rock && seen.origin.at <= view.now)
      (seen.present ? at(seen.station).seen : at(seen.station).absent) = true;
  if (p.plan)
    for (const auto& station : p.plan->stations)
      for (const auto& each : station.expected)
        if (each.rock == rock) at(station.station).expected = each.percent;
  for (const auto& look : p.looks)
    for (auto& [name, place] : places)
      if (look.station == name && look.origin.at <= view.now) place.looked_at += look.total;

  const auto arrival = [&](const std::string& name) {
    const auto visit = std::ranges::find(p.visits, name, &picture::Visit::station);
    return visit == p.visits.end() ? protocol::Instant::max() : (*visit).arrived;
  };
  std::ranges::stable_sort(places, {}, [&](const auto& each) { return arrival(each.first); });
  for (const auto& [name, place] : places) {
    std::string told;
    const auto add = [&](const std::string& part) { told += ", " + part; };
    if (place.bagged > 0) add(fmt::format("{} bagged", place.bagged));
    if (place.looked_at > 0) add(fmt::format("{} of {} counted", place.counted, place.looked_at));
    if (place.share)
      add("said to be " + range_text({place.share->low * 100, place.share->high * 100}));
    if (place.seen && place.bagged == 0 && place.counted == 0) add("seen");
    if (place.absent && !place.seen && place.bagged == 0) add("named absent");
    DrillLine line;
    const protocol::Instant arrived = arrival(name);
    line.left = arrived == protocol::Instant::max() ? "" : clock.minutes(arrived);
    line.text = name + told;
    if (place.expected) line.right = fmt::format("expected {:.0f} %", *place.expected);
    line.entry = "place " + name;
    line.station = name;
    lines.push_back(std::move(line));
  }
}

/// What was said of the kind, the newest first: facts, and what notes seem to say and nobody
/// decided yet.
void add_words(const View& view, const std::string& rock, const ClockText& clock,
               std::vector<DrillLine>& lines) {
  const picture::Picture& p = *view.picture;
  struct Said {
    protocol::Instant at;
    DrillLine line;
  };
  std::vector<Said> said;
  const auto add = [&](const protocol::Uuid& id, protocol::Instant at, const std::string& from,
                       const std::string& text, std::string right, Ink ink = Ink::ink) {
    if (at > view.now) return;
    DrillLine line;
    line.left = clock.minutes(at);
    line.text = from + ": " + text;
    line.right = std::move(right);
    line.ink = ink;
    line.right_ink = ink == Ink::rust ? Ink::rust : Ink::soft;
    line.entry = "word " + std::to_string(said.size());
    line.event = id;
    said.push_back({at, std::move(line)});
  };
  const auto fact = [&](const picture::Origin& o, const std::string& text,
                        const std::string& station) { add(o.id, o.at, o.from, text, station); };
  for (const auto& s : p.shares)
    if (s.rock == rock)
      fact(s.origin, "share " + range_text({s.low * 100, s.high * 100}), s.station);
  for (const auto& s : p.sightings)
    if (s.rock == rock) fact(s.origin, s.present ? "seen" : "none seen so far", s.station);
  for (const auto& l : p.looks)
    for (const auto& count : l.counts)
      if (count.rock == rock)
        fact(l.origin, fmt::format("counted {} of {}", count.count, l.total), l.station);
  const auto names_it = [&](const protocol::Fact& fact_of) {
    if (const auto* s = std::get_if<protocol::SampleTaken>(&fact_of)) return s->rock == rock;
    if (const auto* s = std::get_if<protocol::Sighting>(&fact_of)) return s->rock == rock;
    if (const auto* s = std::get_if<protocol::Share>(&fact_of)) return s->rock == rock;
    if (const auto* t = std::get_if<protocol::Tally>(&fact_of))
      return std::ranges::find(t->counts, rock, &protocol::RockCount::rock) != t->counts.end();
    return false;
  };
  // Undecided ones pile up only where nobody decides; the newest are those in question.
  constexpr std::size_t looked_at = 4000;
  if (view.proposals)
    for (std::size_t i = p.heard.size() - std::min(p.heard.size(), looked_at); i < p.heard.size();
         ++i)
      for (const Proposal* proposal : undecided(view, p.heard[i]))
        if (names_it(proposal->fact))
          add(p.heard[i].event->id, p.heard[i].event->at.instant, speaker_of(*p.heard[i].event),
              chip_text(proposal->fact), "to decide", Ink::rust);
  std::ranges::stable_sort(said, std::greater<>{}, &Said::at);
  for (auto& each : said) lines.push_back(std::move(each.line));
}

std::vector<DrillLine> drill_lines(const View& view, const std::string& rock,
                                   const ClockText& clock, const std::string& here,
                                   const std::optional<std::string>& chosen) {
  std::vector<DrillLine> lines;
  const auto part = [&](const char* name, const char* right, auto&& fill) {
    const std::size_t before = lines.size();
    lines.push_back(part_name(name, right));
    fill();
    if (lines.size() == before + 1) lines.pop_back();
  };
  part("Samples", "", [&] { add_samples(view, rock, clock, here, chosen, lines); });
  part("Places", "", [&] { add_places(view, rock, clock, lines); });
  part("What was said", "newest first", [&] { add_words(view, rock, clock, lines); });
  return lines;
}

/// The lines of the opened kind, worked out anew where something changed.
const std::vector<DrillLine>& lines_of(const View& view, KindsState& state, const Canvas& canvas,
                                       const std::string& rock) {
  const std::string here = view.assessment ? view.assessment->here.station : std::string{};
  KindsState::Drill& drill = state.drill;
  const KindsState::DrillKey key{view.picture, view.proposals,         rock,
                                 here,         canvas.chosen().sample, canvas.clock().mode};
  if (!drill.lines || drill.key != key) {
    drill.lines = std::make_shared<const std::vector<DrillLine>>(
        drill_lines(view, rock, canvas.clock(), here, canvas.chosen().sample));
    drill.key = key;
  }
  return *drill.lines;
}

/// Where the keyboard is among the entries: at the chosen sample, else where it was left.
std::string entry_of(const KindsState& state, const Canvas& canvas,
                     const std::vector<DrillLine>& lines) {
  const auto there = [&](const auto& fits) { return std::ranges::any_of(lines, fits); };
  if (const auto& sample = canvas.chosen().sample;
      sample && there([&](const DrillLine& line) { return line.sample == sample; }))
    return "sample " + *sample;
  if (!state.entry.starts_with("sample ") &&
      there([&](const DrillLine& line) { return line.entry == state.entry; }))
    return state.entry;
  return {};
}

constexpr float drill_pitch = 20;  // design pixels

/// The height at which all its lines are shown.
float drill_height(const View& view, KindsState& state, const Canvas& canvas,
                   const std::string& rock) {
  const auto lines = static_cast<float>(lines_of(view, state, canvas, rock).size());
  return canvas.px(section_head) + canvas.px(drill_pitch) * (1 + std::max(1.0F, lines));
}

void draw_drill(const View& view, KindsState& state, Canvas& canvas, const std::string& rock,
                float top, Commands& out) {
  const Rect& area = canvas.area();
  const Fonts& f = canvas.fonts();
  if (state.opened != rock) {
    state.opened = rock;
    state.line = 0;
    state.entry.clear();
  }
  std::map<std::string, int> places;
  int bagged = 0;
  for (const auto& s : view.picture->samples)
    if (s.rock == rock && s.taken && s.first <= view.now) {
      ++bagged;
      ++places[s.station.empty() ? "place not told" : s.station];
    }
  std::string where;
  for (const auto& [station, n] : places)
    where += (where.empty() ? "" : ", ") + fmt::format("{} {}", station, n);
  float y = draw_section(canvas, top, rock, "← → walk    Enter shows it    Esc closes");
  auto seen = picture::first_seen(*view.picture, rock);
  std::string summary =
      fmt::format("{} bagged{}{}", bagged, where.empty() ? "" : ": " + where,
                  seen ? ". First seen " + canvas.clock().minutes(*seen) + "." : ". Not met.");
  canvas.text({area.x, y + canvas.px(11)}, {Type::text}, Ink::soft,
              ellipsis(f, {Type::text}, summary, area.w));
  y += canvas.px(drill_pitch);

  const std::vector<DrillLine>& lines = lines_of(view, state, canvas, rock);
  const std::string stands = entry_of(state, canvas, lines);
  const auto go_to = [&](const DrillLine& line) {
    state.entry = line.entry;
    Chosen chosen = canvas.chosen();
    chosen.sample = line.sample;
    if (line.station) chosen.station = line.station;
    out.push_back(ask::Choose{chosen});
  };
  const auto show = [&](const DrillLine& line) {
    if (line.event) out.push_back(ask::ShowEvent{*line.event});
  };
  float pitch = canvas.px(drill_pitch);
  auto fit = static_cast<std::size_t>(std::max(0.0F, (area.bottom() - y) / pitch));
  // Keys walk from entry to entry; the sample stood on shows its checklist.
  if (canvas.asked("kinds.next_sample") || canvas.asked("kinds.sample_before")) {
    std::vector<std::size_t> heads;
    for (std::size_t i = 0; i < lines.size(); ++i)
      if (!lines[i].entry.empty() && (i == 0 || lines[i - 1].entry != lines[i].entry))
        heads.push_back(i);
    const bool next = canvas.asked("kinds.next_sample");
    auto at = std::ranges::find_if(heads, [&](std::size_t i) { return lines[i].entry == stands; });
    if (!heads.empty()) {
      if (at == heads.end())
        at = next ? heads.begin() : heads.end() - 1;
      else if (next && at + 1 != heads.end())
        ++at;
      else if (!next && at != heads.begin())
        --at;
      go_to(lines[*at]);
      state.bring = true;
    }
  } else if (std::exchange(state.bring, false) && !stands.empty()) {
    // Now that its checklist is unfolded, and that of the sample before is not. The line above it,
    // the name of its part, is of use where there is room.
    const auto is_it = [&](const DrillLine& line) { return line.entry == stands; };
    const auto first = static_cast<std::size_t>(std::ranges::find_if(lines, is_it) - lines.begin());
    const auto count = static_cast<std::size_t>(std::ranges::count_if(lines, is_it));
    const std::size_t above = first > 0 && count < fit ? 1 : 0;
    if (first < state.line + above)
      state.line = first - above;
    else if (first + count > state.line + fit)
      state.line = std::min(first - above, first + count - std::min(first + count, fit));
  }
  if (canvas.asked("kinds.show"))
    if (auto line = std::ranges::find(lines, stands, &DrillLine::entry);
        !stands.empty() && line != lines.end()) {
      show(*line);
      // A place is shown where it lies.
      out.push_back(ask::Focus{line->event ? RegionId::heard : RegionId::ground});
    }
  if (lines.empty())
    canvas.text({area.x, y + canvas.px(14)}, {Type::text}, Ink::soft,
                "No sample and no word of it.");
  if (fit == 0 || lines.empty()) return;
  std::size_t last = lines.size() > fit ? lines.size() - fit : 0;
  Rect box{area.x, y, area.w, area.bottom() - y};
  if (canvas.pointer().over && box.contains(canvas.pointer().at)) {
    if (canvas.pointer().wheel < 0) state.line = std::min(last, state.line + 1);
    if (canvas.pointer().wheel > 0 && state.line > 0) --state.line;
  }
  if (canvas.asked("kinds.page_down")) state.line = std::min(last, state.line + fit);
  if (canvas.asked("kinds.page_up")) state.line -= std::min(state.line, fit);
  state.line = std::min(state.line, last);
  float indent = canvas.px(52);
  const std::size_t end = std::min(lines.size(), state.line + fit);
  // The lines of the entry stood on are one ground, without notches between them.
  const auto stood_on = [&](std::size_t i) { return !stands.empty() && lines[i].entry == stands; };
  for (std::size_t i = state.line, next = i; i < end; i = std::max(next, i + 1)) {
    for (next = i; next < end && stood_on(next);) ++next;
    if (next > i)
      canvas.fill({area.x - canvas.px(6), y + static_cast<float>(i - state.line) * pitch,
                   area.w + canvas.px(12), static_cast<float>(next - i) * pitch},
                  Ink::chosen, canvas.px(3));
  }
  for (std::size_t i = 0; state.line + i < end; ++i) {
    const DrillLine& line = lines[state.line + i];
    Rect row{area.x, y + static_cast<float>(i) * pitch, area.w, pitch};
    float baseline = baseline_in(canvas, row.y, row.h, Type::text);
    if (line.entry.empty()) {
      canvas.text({row.x, baseline}, {Type::fine, Weight::semibold}, Ink::ink, line.text);
      canvas.text({row.right(), baseline}, label, Ink::soft, line.right, Align::right);
      continue;
    }
    canvas.figures({row.x, baseline}, {Type::text, line.sample ? Weight::medium : Weight::regular},
                   line.sample ? Ink::ink : Ink::soft,
                   ellipsis(f, {Type::text}, line.left, indent - canvas.px(6)));
    float right = line.right.empty()
                      ? 0
                      : canvas.text({row.right(), baseline}, label, line.right_ink,
                                    ellipsis(f, label, line.right, row.w * 0.4F), Align::right) +
                            canvas.px(10);
    std::string text = ellipsis(f, {Type::text}, line.text, row.w - indent - right);
    canvas.text({row.x + indent, baseline}, {Type::text}, line.ink, text);
    if (text != line.text) canvas.tip(row, line.text);
    if (canvas.press("line", row)) {
      go_to(line);
      show(line);
    }
  }
}

}  // namespace

std::string same_ground_text(const advise::Assessment& a) {
  if (a.compared_with.empty()) return {};
  if (!a.same_ground)
    return "Same ground as " + a.compared_with + "? No basis: both need a count or shares.";
  double p = *a.same_ground;
  std::string figure = p < 0.01 ? "under 0.01" : p > 0.99 ? "over 0.99" : fmt::format("{:.2f}", p);
  std::string words = p >= 0.8   ? "Same ground as "
                      : p <= 0.2 ? "Not the ground of "
                                 : "Perhaps the same ground as ";
  return words + a.compared_with + ": P(same) " + figure;
}

std::string kinds_as_text(const View& view, bool whole, const ClockText& clock) {
  if (!view.assessment) return {};
  const BothTimes known(view, whole);
  const Ground& ground = known.then();
  std::string text =
      fmt::format("{}, {} {}; {}\n", ground.station.empty() ? "whole exercise" : ground.station,
                  clock.seconds(view.now), clock.zone(), plates::basis_text(ground.basis));
  text += "kind\tbagged\twanted\tdocumented\tfirst seen\tshare %\tlow %\thigh %";
  if (known.end) text += "\tat the end: bagged\tshare %\tlow %\thigh %";
  const auto share = [](const KindRow& row) {
    return row.share ? fmt::format("{:.1f}\t{:.1f}\t{:.1f}", row.share->mean * 100,
                                   row.share->low * 100, row.share->high * 100)
                     : std::string("no basis\t\t");
  };
  for (std::size_t i = 0; i < ground.kinds.size(); ++i) {
    const KindRow& row = ground.kinds[i];
    text +=
        fmt::format("\n{}\t{}\t{}\t{}\t{}\t{}", row.rock, row.bagged, row.wanted, row.documented,
                    row.first_seen ? clock.minutes(*row.first_seen) : "", share(row));
    if (known.end)
      text += fmt::format("\t{}\t{}", known.end->kinds[i].bagged, share(known.end->kinds[i]));
  }
  return text + '\n';
}

Commands draw_kinds(const View& view, KindsState& state, Canvas& canvas) {
  Commands out;
  const Rect& area = canvas.area();
  if (canvas.asked("kinds.whole") && !at_base(view)) state.whole = !state.whole;
  const bool whole = shows_whole(view, state);
  if (canvas.asked("kinds.all")) state.all = !state.all;
  if (canvas.asked("kinds.copy"))
    out.push_back(ask::CopyText{kinds_as_text(view, whole, canvas.clock())});
  float y = draw_heading(view, state, canvas);
  if (!view.assessment || !view.picture) {
    canvas.text({area.x, y + canvas.px(14)}, {Type::text}, Ink::soft, "Nothing heard yet.");
    return out;
  }
  const BothTimes known(view, whole);
  const Ground& ground = known.then();
  if (std::string same = whole ? std::string{} : same_ground_text(*view.assessment);
      !same.empty() &&
      area.bottom() - y >= canvas.px(same_ground_line + table_head + table_axis + 23)) {
    canvas.text({area.x, y + canvas.px(12)}, {Type::text},
                view.assessment->same_ground ? Ink::ink : Ink::soft,
                ellipsis(canvas.fonts(), {Type::text}, same, area.w));
    y += canvas.px(same_ground_line);
  }
  const std::vector<std::size_t> rows = rows_of(known, state.all);
  const Words words(canvas, ground, *view.picture);
  const float free = area.bottom() - y - canvas.px(table_gap);
  const auto within = [&](float room, float at_most) {
    return rows_within(canvas, known.end.has_value(), rows.size(), room, at_most);
  };
  if (canvas.chosen().rock) {
    // What is known of the chosen kind takes the place of what is not seen yet. It is given what it
    // needs, of a long list so much that most of the table stays in sight; in a low place the
    // chosen row stands above it alone.
    const std::string& rock = *canvas.chosen().rock;
    const float needs = drill_height(view, state, canvas, rock);
    const float rests = words.rests_high(Said::whole);
    const bool low = free < canvas.px(42 + 23 * 5 + 90) + rests;
    const float least =
        low ? std::max(canvas.px(90), free - canvas.px(42 + 23))
            : std::max(canvas.px(90), std::min(free * 0.5F, free - rests - canvas.px(42 + 23 * 5)));
    const Said say = low && needs > least - rests ? Said::not_at_all : Said::whole;
    const float above = free - (say == Said::whole ? rests : 0);
    const bool spare =
        above - needs >= canvas.px(42) + canvas.px(pitch_at_ease) * static_cast<float>(rows.size());
    y = draw_table(
        known, rows,
        within(above - std::min(needs, least), canvas.px(spare ? most_pitch : pitch_at_ease)),
        state, canvas, y, out);
    draw_rests(words, say, ground, canvas, y);
    y += words.rests_high(say);
    if (y + canvas.px(section_head) + canvas.fonts().line_height(Type::text) <= area.bottom())
      draw_drill(view, state, canvas, rock, y, out);
    return out;
  }
  state.opened.clear();
  // The fullest way below that shows the most rows.
  Below way;
  Rows best;
  for (std::size_t i = 0; i < ways_below.size(); ++i) {
    if (i >= ways_that_say_all && best.shown >= std::min(rows.size(), least_rows)) break;
    const Rows fit = within(free - words.high_of(ways_below[i]), canvas.px(most_pitch));
    if (i > 0 && fit.shown <= best.shown) continue;
    best = fit;
    way = ways_below[i];
  }
  // The curve of kinds met is worth more than air between the rows.
  if (const float body = free - words.high_of(way) - canvas.px(table_head + table_axis);
      way == ways_below.front() && !best.two_lines && ground.unseen && !rows.empty() &&
      ground.unseen->growth.size() > 1 &&
      body >=
          canvas.px(pitch_at_ease) * static_cast<float>(rows.size()) + canvas.px(growth_at_ease))
    best.pitch =
        std::clamp(std::floor((body - canvas.px(growth_at_ease)) / static_cast<float>(rows.size())),
                   canvas.px(pitch_at_ease), canvas.px(most_pitch));
  y = draw_table(known, rows, best, state, canvas, y, out);
  draw_rests(words, way.rests, ground, canvas, y);
  y += words.rests_high(way.rests);
  if (way.unseen != Said::not_at_all)
    draw_unseen(words, way.unseen, ground, words.warned_high(way.warned), canvas, y);
  draw_warned(words, way.warned, canvas);
  return out;
}

float kinds_height(const View& view, KindsState& state, const Canvas& canvas) {
  if (!view.assessment || !view.picture) return 0;
  const bool whole = shows_whole(view, state);
  const BothTimes known(view, whole);
  const Words words(canvas, known.then(), *view.picture);
  const float pitch = known.end ? least_pitch_of_two : pitch_at_ease;
  const float same = whole || same_ground_text(*view.assessment).empty() ? 0 : same_ground_line;
  // Of what is opened, the sample stood on with its checklist.
  constexpr float opened_lines = 13;
  const float opened = canvas.chosen().rock
                           ? std::min(drill_height(view, state, canvas, *canvas.chosen().rock),
                                      canvas.px(section_head + drill_pitch * opened_lines))
                           : 0;
  // So many lines its sentences take as a rule: one that happens to be shorter moves nothing.
  constexpr std::size_t rests_lines = 2, unseen_lines = 3;
  return canvas.heading_height() + canvas.px(same) +
         canvas.px(table_head + table_axis + table_gap) +
         canvas.px(pitch) * static_cast<float>(rows_of(known, state.all).size()) +
         words.rests_high(Said::whole, rests_lines) +
         std::max(words.unseen_high(Said::whole, unseen_lines) + words.warned_high(Said::whole),
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
