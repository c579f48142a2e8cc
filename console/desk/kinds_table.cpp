#include "console/desk/kinds_table.hpp"

#include <algorithm>
#include <cmath>

#include <fmt/format.h>

#include "console/desk/chart_painter.hpp"
#include "console/plates/kinds_plate.hpp"
#include "protocol/utf8.hpp"

namespace stonecall::desk {
namespace {

using advise::Ground;
using advise::KindRow;

constexpr Font small_figure{Type::fine};
constexpr Font large_figure{Type::lead};
// Design pixels.
constexpr float least_pitch = 21, most_pitch_of_two = 38;

/// Where the columns of the table end (right-aligned), from the region's left edge.
struct TableColumns {
  float name = 0, name_width = 0, bagged = 0, documented = 0, first = 0;
  float chart = 0, chart_width = 0;
  float mean = 0, interval = 0;
  bool show_first = false, show_interval = false;
};

TableColumns columns_for(const Canvas& canvas, const Ground& ground,
                         const std::vector<std::size_t>& rows) {
  const Fonts& f = canvas.fonts();
  const float w = canvas.area().w;
  float widest = canvas.px(70);
  for (std::size_t i : rows)
    widest = std::max(widest, f.width({Type::lead, Weight::medium}, ground.kinds[i].rock));
  TableColumns c;
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

/// A name that has no room loses letters of its first word, "hydroth. breccia": the last says most.
std::string shortened(const Fonts& fonts, Font font, const std::string& name, float width) {
  constexpr std::size_t least_letters = 4;
  const std::size_t space = name.find(' ');
  if (fonts.width(font, name) > width && space != std::string::npos) {
    for (std::size_t letters = space - std::min<std::size_t>(space, 2); letters >= least_letters;
         --letters) {
      if (protocol::utf8::beginning(name, letters).size() < letters) continue;  // within a letter
      std::string brief = name.substr(0, letters) + "." + name.substr(space);
      if (fonts.width(font, brief) <= width) return brief;
    }
  }
  return ellipsis(fonts, font, name, width);
}

std::string documented_text(const KindRow& row) {
  return row.bagged > 0 ? std::to_string(row.documented) : "–";
}

std::string first_text(const KindRow& row, const ClockText& clock) {
  return row.first_seen ? clock.minutes(*row.first_seen) : "–";
}

/// Figures of one row, in the columns of the table.
struct RowFigures {
  const KindRow& row;
  const TableColumns& columns;
  Canvas& canvas;
  const Rect box;

  float x(float column) const { return canvas.area().x + column; }
  float baseline(Type type) const { return canvas.baseline_in(box.y, box.h, type); }
  void figure(float column, Font font, Ink ink, std::string_view text) const {
    canvas.figures({x(column), baseline(Type::lead)}, font, ink, text, Align::right);
  }
  /// Width kept behind what is bagged for how much of it is wanted.
  float of_width() const { return canvas.fonts().figures_width(small_figure, " of 0"); }

  void name(std::size_t series) const {
    constexpr Font font{Type::lead, Weight::medium};
    canvas.glyph({x(canvas.px(7)), box.y + std::round(box.h / 2)}, canvas.px(11),
                 kind_ink(canvas.theme(), series));
    const std::string name = shortened(canvas.fonts(), font, row.rock, columns.name_width);
    canvas.text({x(columns.name), baseline(Type::lead)}, font,
                row.first_seen ? Ink::ink : Ink::soft, name);
    const std::string about = plates::label_text(row);
    if (name != row.rock || !about.empty())
      canvas.tip({x(0), box.y, columns.name + columns.name_width, box.h},
                 about.empty() ? row.rock : row.rock + ": " + about);
  }

  /// "1 of 2": what is bagged in ink, what is wanted beside it; the wish is rust while it is open.
  void bagged() const {
    const float of = of_width();
    if (row.wanted > 0)
      canvas.figures({x(columns.bagged) - of, baseline(Type::lead)}, small_figure,
                     row.wanted > row.bagged ? Ink::rust : Ink::soft,
                     fmt::format(" of {}", row.wanted));
    canvas.figures({x(columns.bagged) - of - canvas.px(1), baseline(Type::lead)},
                   {Type::lead, row.bagged > 0 ? Weight::semibold : Weight::regular},
                   row.bagged > 0 ? Ink::ink : Ink::soft, std::to_string(row.bagged), Align::right);
  }

  void documented() const {
    const bool lacking = row.documented < row.bagged;
    figure(columns.documented, {Type::lead, lacking ? Weight::semibold : Weight::regular},
           lacking ? Ink::rust : Ink::soft, documented_text(row));
  }

  void first() const {
    if (columns.show_first)
      canvas.figures({x(columns.first), baseline(Type::fine)}, small_figure, Ink::soft,
                     first_text(row, canvas.clock()), Align::right);
  }

  void share() const {
    if (!row.share) {
      canvas.text({x(columns.interval), baseline(Type::fine)}, small_figure, Ink::soft,
                  row.said_absent  ? "named absent"
                  : row.first_seen ? "no basis"
                                   : "not met",
                  Align::right);
      return;
    }
    figure(columns.mean, large_figure, row.first_seen ? Ink::ink : Ink::soft,
           plates::mean_text(*row.share));
    if (columns.show_interval)
      figure(columns.interval, small_figure, Ink::soft, plates::interval_text(*row.share));
  }
};

void draw_kind(const KindRow& row, std::size_t series, const TableColumns& columns, Canvas& canvas,
               Rect box) {
  const RowFigures figures{row, columns, canvas, box};
  figures.name(series);
  figures.bagged();
  figures.documented();
  figures.first();
  figures.share();
}

/// The same row as known at the end, below it in smaller type.
void draw_kind_at_end(const KindRow& row, const TableColumns& c, Canvas& canvas, Rect box) {
  const float x = canvas.area().x, baseline = canvas.baseline_in(box.y, box.h, Type::fine);
  const auto figures = [&](float right, const std::string& text) {
    canvas.figures({x + right, baseline}, small_figure, Ink::soft, text, Align::right);
  };
  canvas.text({x + c.name, baseline}, small_figure, Ink::soft, "at the end");
  figures(c.bagged - canvas.fonts().figures_width(small_figure, " of 0") - canvas.px(1),
          std::to_string(row.bagged));
  figures(c.documented, documented_text(row));
  if (c.show_first) figures(c.first, first_text(row, canvas.clock()));
  if (!row.share) {
    canvas.text({x + c.interval, baseline}, small_figure, Ink::soft,
                row.first_seen ? "no basis" : "not met", Align::right);
    return;
  }
  figures(c.mean, plates::mean_text(*row.share));
  if (c.show_interval) figures(c.interval, plates::interval_text(*row.share));
}

/// The names of the columns.
void draw_table_head(const TableColumns& c, bool end_beside, Canvas& canvas, float top) {
  const Rect& area = canvas.area();
  const float baseline = top + canvas.px(13);
  const auto column = [&](float right, std::string_view name) {
    canvas.text({area.x + right, baseline}, small_figure, Ink::soft, name, Align::right);
  };
  column(c.bagged, "bagged");
  column(c.documented, "docum.");
  if (c.show_first) column(c.first, "first");
  if (c.chart_width == 0) {
    column(c.mean, "share");
  } else {
    const float room = area.w - c.chart - canvas.px(6);
    std::string_view name = end_beside ? "share, 90 %; ring: the end" : "share of the ground, 90 %";
    if (canvas.fonts().width(small_figure, name) > room) name = "share, 90 %";
    canvas.text({area.x + c.chart + canvas.px(6), baseline}, small_figure, Ink::soft,
                ellipsis(canvas.fonts(), small_figure, name, room));
  }
  canvas.rule(area.x, area.right(), top + canvas.px(table_head) - canvas.px(1));
}

Chosen with_rock(const Canvas& canvas, std::optional<std::string> rock) {
  Chosen chosen = canvas.chosen();
  chosen.rock = std::move(rock);
  return chosen;
}

/// Keyboard and wheel walk through the rows; the table follows, `shown` rows at a time.
void walk_rows(const Ground& ground, const std::vector<std::size_t>& rows, std::size_t shown,
               const Rect& body, bool just_chosen, KindsTableState& state, const Canvas& canvas,
               Commands& out) {
  const std::size_t last = rows.size() - shown;
  const auto bring = [&](std::size_t row) {
    if (row < state.row) state.row = row;
    if (row >= state.row + shown) state.row = row + 1 - shown;
  };
  if (last > 0 && canvas.pointer().over && body.contains(canvas.pointer().at)) {
    if (canvas.pointer().wheel < 0) state.row = std::min(last, state.row + 1);
    if (canvas.pointer().wheel > 0 && state.row > 0) --state.row;
  }
  std::optional<std::size_t> at;
  for (std::size_t i = 0; i < rows.size(); ++i)
    if (canvas.chosen().rock == ground.kinds[rows[i]].rock) at = i;
  const bool down = canvas.asked("kinds.down");
  if (!rows.empty() && (down || canvas.asked("kinds.up"))) {
    const std::size_t to =
        down ? (at ? std::min(*at + 1, rows.size() - 1) : 0) : (at && *at > 0 ? *at - 1 : 0);
    out.push_back(ask::Choose{with_rock(canvas, ground.kinds[rows[to]].rock)});
    bring(to);
  }
  if (canvas.asked("kinds.close")) out.push_back(ask::Choose{});
  // A kind just chosen, wherever it was chosen, is shown.
  if (at && (shown == 1 || just_chosen)) bring(*at);
  state.row = std::min(state.row, last);
}

/// What lies behind a row, and its press.
void draw_row_ground(const KindRow& row, Canvas& canvas, const Rect& box, Commands& out) {
  const bool chosen = canvas.chosen().rock == row.rock;
  if (chosen) canvas.chosen_ground({box.x, box.y + 1, box.w, box.h - 1});
  canvas.rule(box.x, box.right(), box.bottom());
  if (canvas.press(row.rock, box))
    out.push_back(ask::Choose{with_rock(canvas, chosen ? std::nullopt : std::optional(row.rock))});
}

void draw_shares(const BothTimes& known, const std::vector<std::size_t>& drawn,
                 const TableColumns& c, float pitch, Canvas& canvas, float top) {
  if (c.chart_width == 0) return;
  const float scale = canvas.fonts().scale();
  charts::IntervalRows plate = known.end()
                                   ? plates::then_and_end_plate(known.then(), *known.end(), drawn)
                                   : plates::share_plate(known.then(), drawn);
  for (auto& row : plate.rows) row.words.clear();  // the table has them
  plate.width = c.chart_width / scale;
  plate.row_height = pitch / scale;
  // Where the quarters have no room, the halves: an axis without one of its marks looks broken.
  constexpr double quarters_from = 120;
  if (plate.width < quarters_from) plate.ticks = {{0, "0"}, {0.5, "50"}, {1, "100"}};
  paint(canvas, charts::interval_rows(plate, measure_of(canvas.fonts())),
        {canvas.area().x + c.chart, top});
}

/// What is not shown, below the table; a press shows all kinds, or those of note.
void draw_more(std::size_t of_list, std::size_t of_note, std::size_t shown, float width,
               KindsTableState& state, Canvas& canvas, float top) {
  std::string more;
  if (shown < of_note)
    more = fmt::format("{} of {} kinds shown", shown, of_note);
  else if (of_note < of_list)
    more = fmt::format("{} more of the list, not met", of_list - of_note);
  else if (state.all)
    more = "only kinds of note";
  if (more.empty()) return;
  const float x = canvas.area().x;
  canvas.text({x, top + canvas.px(17)}, small_figure, Ink::soft,
              ellipsis(canvas.fonts(), small_figure, more, width - canvas.px(4)));
  if (shown == of_note &&
      canvas.press("more", {x, top + canvas.px(2), width, canvas.px(table_axis)}))
    state.all = !state.all;
}

}  // namespace

BothTimes::BothTimes(const View& view, bool whole)
    : then_(whole ? view.assessment->whole : view.assessment->here) {
  const AtTheEnd* later = view.end();
  if (!later) return;
  end_ = plates::in_order_of(whole ? later->whole : later->here.here, then_);
  ordered_ = plates::in_order_of(then_, *end_);
}

std::vector<std::size_t> rows_of(const BothTimes& known, bool all) {
  const auto of_note = [&](std::size_t i) {
    const auto met = [](const KindRow& row) { return row.first_seen || row.share; };
    const KindRow& then = known.then().kinds[i];
    return known.end() ? met(then) || met(known.end()->kinds[i]) : plates::says_something(then);
  };
  std::vector<std::size_t> rows;
  for (std::size_t i = 0; i < known.then().kinds.size(); ++i)
    if (all || of_note(i)) rows.push_back(i);
  return rows;
}

TableRows rows_within(const Canvas& canvas, bool end_beside, std::size_t all, float room,
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

float draw_kinds_table(const BothTimes& known, const std::vector<std::size_t>& rows,
                       const TableRows& room, bool just_chosen, KindsTableState& state,
                       Canvas& canvas, float top, Commands& out) {
  const Rect& area = canvas.area();
  const Ground& ground = known.then();
  const std::size_t shown = room.shown;
  const float pitch = room.pitch;
  const TableColumns columns = columns_for(canvas, ground, rows);
  draw_table_head(columns, known.end().has_value(), canvas, top);
  top += canvas.px(table_head);
  const Rect body{area.x, top, area.w, static_cast<float>(shown) * pitch};
  state.hidden = rows.size() - shown;
  walk_rows(ground, rows, shown, body, just_chosen, state, canvas, out);

  const auto first = rows.begin() + static_cast<std::ptrdiff_t>(state.row);
  const std::vector<std::size_t> drawn(first, first + static_cast<std::ptrdiff_t>(shown));
  const auto y_of = [&](std::size_t i) { return top + static_cast<float>(i) * pitch; };
  for (std::size_t i = 0; i < drawn.size(); ++i)
    draw_row_ground(ground.kinds[drawn[i]], canvas, {area.x, y_of(i), area.w, pitch}, out);
  draw_shares(known, drawn, columns, pitch, canvas, top);
  const float upper = room.two_lines ? std::round(pitch * 0.72F) : pitch;
  const float lower = std::round(pitch * 0.5F);
  for (std::size_t i = 0; i < drawn.size(); ++i) {
    draw_kind(ground.kinds[drawn[i]], drawn[i], columns, canvas, {area.x, y_of(i), area.w, upper});
    if (room.two_lines)
      draw_kind_at_end(known.end()->kinds[drawn[i]], columns, canvas,
                       {area.x, y_of(i) + lower, area.w, lower});
  }
  draw_more(ground.kinds.size(), rows.size(), shown, columns.chart, state, canvas, body.bottom());
  return body.bottom() + canvas.px(table_axis) + canvas.px(table_gap);
}

std::string kinds_as_text(const View& view, bool whole, const ClockText& clock) {
  if (!view.assessment) return {};
  const BothTimes known(view, whole);
  const Ground& ground = known.then();
  std::string text =
      fmt::format("{}, {} {}; {}\n", ground.station.empty() ? "whole exercise" : ground.station,
                  clock.seconds(view.now), clock.zone(), plates::basis_text(ground.basis));
  text += "kind\tbagged\twanted\tdocumented\tfirst seen\tshare %\tlow %\thigh %";
  if (known.end()) text += "\tat the end: bagged\tshare %\tlow %\thigh %";
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
    if (known.end())
      text += fmt::format("\t{}\t{}", known.end()->kinds[i].bagged, share(known.end()->kinds[i]));
  }
  return text + '\n';
}

}  // namespace stonecall::desk
