#include "console/desk/heard_row.hpp"

#include <algorithm>

#include "console/desk/alteration_text.hpp"
#include "console/desk/deciding.hpp"
#include "console/desk/fact_text.hpp"
#include "console/desk/heard_filter.hpp"

namespace stonecall::desk {
namespace {

using picture::HeardLine;

constexpr Font said_font{Type::text};
constexpr Font small_font{Type::fine};
// Design pixels.
constexpr float row_margin = 6, row_foot = 7;

constexpr std::string_view decide_hint = "Enter accept    a accept all    e edit    d decline";
constexpr std::string_view decide_in_brief = "Enter accept  a all  e edit  d decline";

float said_line(const Canvas& canvas) {
  return canvas.fonts().line_height(said_font.type);
}
float small_line(const Canvas& canvas) {
  return canvas.fonts().line_height(small_font.type);
}

std::vector<HeardRow::Chip> chips_of(const View& view, const HeardLine& line,
                                     const ClockText& clock, LookedUp& looked_up) {
  std::vector<HeardRow::Chip> chips;
  for (const picture::ReadingMade& made : line.readings) {
    if (!counts(made)) continue;
    std::string by_itself = made.reading.by_itself.value_or(false) ? "by itself: " : "";
    std::string words = by_itself + chip_words(view, made.reading.fact, true, clock, looked_up);
    // One correction of several statements was accepted as one, and is shown as one.
    const bool again = std::holds_alternative<protocol::Amend>(made.reading.fact) &&
                       std::ranges::find(chips, words, &HeardRow::Chip::words) != chips.end();
    if (!again) chips.push_back({std::move(words), nullptr, {}});
  }
  for (const Proposal* proposal : undecided(view, line))
    chips.push_back({chip_words(view, proposal->fact, false, clock, looked_up), proposal, {}});
  return chips;
}

/// Bytes of the note's text that were understood; `sure`: a person accepted it.
struct Understood {
  std::size_t begin = 0, end = 0;
  bool sure = true;
};

std::vector<Understood> understood(const View& view, const HeardLine& line, std::size_t size) {
  std::vector<Understood> out;
  auto add = [&](const protocol::Words& words, bool sure) {
    std::size_t end = std::min<std::size_t>(words.end, size);
    if (words.begin < end) out.push_back({words.begin, end, sure});
  };
  for (const picture::ReadingMade& made : line.readings)
    if (counts(made) && made.reading.words) add(*made.reading.words, true);
  for (const Proposal* proposal : undecided(view, line)) add(proposal->words, false);
  return out;
}

/// The whole text, broken into lines of this width.
std::string in_lines(const Fonts& fonts, const std::string& text, float width) {
  std::string out;
  for (auto [begin, end] : wrap(fonts, small_font, text, width))
    out += (out.empty() ? "" : "\n") + text.substr(begin, end - begin);
  return out;
}

// Each lays a part of the row below `y`, from the row's upper edge, and returns the y below it.

float lay_aside(HeardRow& row, const HeardColumns& columns, const Canvas& canvas, float y) {
  if (row.aside.empty()) return y;
  const Fonts& f = canvas.fonts();
  const float high = said_line(canvas);
  const auto [begin, end] = row.lines.empty() ? WrappedLine{} : row.lines.back();
  float x =
      f.width(said_font, std::string_view(row.text).substr(begin, end - begin)) + canvas.px(8);
  if (x + f.width(small_font, row.aside) > columns.text_width) {
    x = 0;
    y += high;
  }
  row.aside_at = {x, canvas.baseline_in(y - high, high, said_font.type)};
  return y;
}

float lay_chips(HeardRow& row, const HeardColumns& columns, const Canvas& canvas, bool chosen,
                float y) {
  if (row.chips.empty()) return y;
  y += canvas.px(3);
  const float gap = canvas.px(6), right = columns.text + columns.text_width;
  const float room = columns.text_width - canvas.px(18);
  float x = columns.text, lowest = y;
  for (HeardRow::Chip& chip : row.chips) {
    // Nobody is to accept what they cannot read.
    chip.words = chosen && chip.proposal ? in_lines(canvas.fonts(), chip.words, room)
                                         : ellipsis(canvas.fonts(), small_font, chip.words, room);
    chip.place = canvas.chip_size({x, y}, chip.words);
    if (x > columns.text && chip.place.right() > right) {
      x = columns.text;
      y = lowest + gap;
      chip.place = canvas.chip_size({x, y}, chip.words);
    }
    x = chip.place.right() + gap;
    lowest = std::max(lowest, chip.place.bottom());
  }
  y = lowest;
  if (chosen && std::ranges::any_of(row.chips, &HeardRow::Chip::proposal)) {
    y += canvas.px(5) + small_line(canvas);
    row.hint_baseline = y - canvas.px(5);
  }
  return y;
}

float lay_past(HeardRow& row, const HeardColumns& columns, const Canvas& canvas,
               std::span<const picture::Alteration> past, float y) {
  if (past.empty()) return y;
  row.past_top = y + canvas.px(4);
  for (const picture::Alteration& each : past) {
    const std::string text = alteration_text(each, canvas.clock());
    for (auto [begin, end] : wrap(canvas.fonts(), small_font, text, columns.text_width))
      row.past.push_back(text.substr(begin, end - begin));
  }
  return row.past_top + small_line(canvas) * static_cast<float>(row.past.size());
}

/// Draws one row, part by part.
struct RowPainter {
  const View& view;
  const HeardLine& line;
  const HeardRow& row;
  const HeardColumns& columns;
  const ImVec2 at;
  const Rect& list;
  const RowLook& look;
  Canvas& canvas;

  float text_x() const { return at.x + columns.text; }
  bool in_sight(float baseline, Type type) const {
    return baseline - canvas.fonts().cap_height(type) >= list.y &&
           baseline + canvas.px(4) <= list.bottom();
  }

  void ground() const {
    if (!look.chosen) return;
    canvas.fill(
        {at.x - canvas.px(8), at.y, columns.text + columns.text_width + canvas.px(14), row.height},
        Ink::chosen, canvas.px(3));
  }

  float first_baseline() const {
    return canvas.baseline_in(at.y + canvas.px(row_margin), said_line(canvas), said_font.type);
  }

  /// Beside the first line of it that is in sight.
  void when_and_who() const {
    float baseline = first_baseline();
    std::size_t i = 0;
    while (i < row.lines.size() &&
           !in_sight(baseline + said_line(canvas) * static_cast<float>(i), said_font.type))
      ++i;
    if (i == row.lines.size()) return;
    baseline += said_line(canvas) * static_cast<float>(i);
    canvas.figures({at.x, baseline}, small_font, Ink::soft,
                   canvas.clock().seconds(line.event->at.instant));
    const ImVec2 who{at.x + columns.speaker,
                     columns.stacked ? baseline + small_line(canvas) : baseline};
    if (!in_sight(who.y, small_font.type) || who.y >= at.y + row.height) return;
    const bool field = view.picture && picture::is_word_of_field(*view.picture, *line.event);
    const float room = columns.stacked ? columns.text - canvas.px(6)
                                       : columns.text - columns.speaker - canvas.px(8);
    canvas.text(
        who, {Type::fine, field ? Weight::medium : Weight::semibold}, field ? Ink::ink : Ink::link,
        ellipsis(canvas.fonts(), {Type::fine, Weight::medium}, speaker_of(*line.event), room));
  }

  /// From where to where bytes of the text stand in one of its lines; none: they are in others.
  std::optional<std::pair<float, float>> span(const WrappedLine& in, std::size_t begin,
                                              std::size_t end) const {
    begin = std::max(begin, in.begin);
    end = std::min(end, in.end);
    if (begin >= end) return std::nullopt;
    const std::string_view text = row.text;
    const auto x = [&](std::size_t byte) {
      return text_x() + canvas.fonts().width(said_font, text.substr(in.begin, byte - in.begin));
    };
    return std::pair(x(begin), x(end));
  }

  void search_hits(const WrappedLine& in, float baseline) const {
    if (look.search.empty()) return;
    for (std::size_t hit = find_fold(row.text, look.search); hit != std::string_view::npos;
         hit = find_fold(row.text, look.search, hit + look.search.size()))
      if (const auto marked = span(in, hit, hit + look.search.size()))
        canvas.fill({marked->first - 1, baseline - canvas.px(13),
                     marked->second - marked->first + 2, canvas.px(18)},
                    Ink::rust_soft, canvas.px(2));
  }

  /// Of the lines in sight: what was searched for, the words, what of them was understood.
  void words() const {
    // What people said is in ink; what was only entered stands back.
    const bool spoken = std::holds_alternative<protocol::VoiceNote>(line.event->body) ||
                        show_of(*line.event) == HeardFilter::Show::calls;
    const Ink ink = line.retracted || !spoken ? Ink::soft : Ink::ink;
    const auto marks = understood(view, line, row.text.size());
    float baseline = first_baseline();
    for (const WrappedLine& each : row.lines) {
      if (in_sight(baseline, said_font.type)) {
        search_hits(each, baseline);
        canvas.text({text_x(), baseline}, said_font, ink,
                    std::string_view(row.text).substr(each.begin, each.end - each.begin));
        for (const Understood& mark : marks)
          if (const auto under = span(each, mark.begin, mark.end))
            canvas.rule(under->first, under->second, baseline + canvas.px(3),
                        mark.sure ? Ink::ink : Ink::rust);
        if (line.retracted)
          if (const auto through = span(each, each.begin, each.end))
            canvas.rule(through->first, through->second, baseline - canvas.px(4), Ink::soft);
      }
      baseline += said_line(canvas);
    }
  }

  void aside() const {
    const float baseline = at.y + row.aside_at.y;
    if (row.aside.empty() || !in_sight(baseline, small_font.type)) return;
    canvas.text({text_x() + row.aside_at.x, baseline}, small_font,
                row.aside == "amended" ? Ink::soft : Ink::rust, row.aside);
  }

  void chips() const {
    std::size_t nth = 0;
    for (const HeardRow::Chip& chip : row.chips) {
      const bool picked = look.chosen && chip.proposal && nth == look.picked;
      if (chip.proposal) ++nth;
      if (at.y + chip.place.y < list.y - 1 || at.y + chip.place.bottom() > list.bottom() + 1)
        continue;
      const Rect drawn = canvas.chip({at.x + chip.place.x, at.y + chip.place.y}, chip.words,
                                     chip.proposal != nullptr);
      if (picked)
        canvas.outline(drawn.inset(-canvas.px(2), -canvas.px(2)), Ink::rust, canvas.px(13));
    }
  }

  void past() const {
    float bottom = at.y + row.past_top;
    for (const std::string& each : row.past) {
      bottom += small_line(canvas);
      if (in_sight(bottom - canvas.px(4), small_font.type))
        canvas.text({text_x(), bottom - canvas.px(4)}, small_font, Ink::soft, each);
    }
  }

  void hint() const {
    const float baseline = at.y + row.hint_baseline;
    if (row.hint_baseline <= 0 || !in_sight(baseline, small_font.type)) return;
    const Fonts& f = canvas.fonts();
    const bool fits = f.width(small_font, decide_hint) <= columns.text_width;
    canvas.text({text_x(), baseline}, small_font, Ink::soft,
                fits ? std::string(decide_hint)
                     : ellipsis(f, small_font, decide_in_brief, columns.text_width));
  }
};

}  // namespace

HeardColumns heard_columns(const Canvas& canvas, float width) {
  HeardColumns c;
  c.stacked = width < canvas.px(360);
  // The time of day has a digit more.
  const float digit =
      canvas.clock().mode == TimeMode::elapsed ? 0 : canvas.fonts().digit_cell(small_font);
  c.speaker = c.stacked ? 0 : canvas.px(62) + digit;
  c.text = c.stacked ? canvas.px(66) : canvas.px(128) + digit;
  c.text_width = std::max(canvas.px(80), width - c.text - canvas.px(10));
  return c;
}

HeardRow lay_row(const View& view, const HeardLine& line, const HeardColumns& columns,
                 const Canvas& canvas, bool chosen, std::span<const picture::Alteration> past,
                 LookedUp& looked_up) {
  HeardRow row;
  row.text = shown_words(view, line, canvas.clock(), looked_up);
  row.lines = wrap(canvas.fonts(), said_font, row.text, columns.text_width);
  row.chips = chips_of(view, line, canvas.clock(), looked_up);
  row.aside = line_aside(view, line);
  float y = canvas.px(row_margin) + said_line(canvas) * static_cast<float>(row.lines.size());
  y = lay_aside(row, columns, canvas, y);
  y = lay_chips(row, columns, canvas, chosen, y);
  if (chosen) y = lay_past(row, columns, canvas, past, y);
  if (columns.stacked)
    y = std::max(y, canvas.px(row_margin) + said_line(canvas) + small_line(canvas));
  row.height = y + canvas.px(row_foot);
  return row;
}

void draw_row(const View& view, const HeardLine& line, const HeardRow& row,
              const HeardColumns& columns, ImVec2 at, const Rect& list, const RowLook& look,
              Canvas& canvas) {
  const RowPainter painter{view, line, row, columns, at, list, look, canvas};
  painter.ground();
  painter.when_and_who();
  painter.words();
  painter.aside();
  painter.chips();
  painter.past();
  painter.hint();
}

std::optional<std::size_t> proposal_at(const HeardRow& row, ImVec2 at, ImVec2 point) {
  std::size_t nth = 0;
  for (const HeardRow::Chip& chip : row.chips) {
    if (!chip.proposal) continue;
    const Rect place{chip.place.x + at.x, chip.place.y + at.y, chip.place.w, chip.place.h};
    if (place.contains(point)) return nth;
    ++nth;
  }
  return std::nullopt;
}

}  // namespace stonecall::desk
