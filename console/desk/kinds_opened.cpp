#include "console/desk/kinds_opened.hpp"

#include <algorithm>
#include <utility>

#include "console/desk/section.hpp"

namespace stonecall::desk {
namespace {

constexpr Font record_font{Type::text};
constexpr Font record_aside{Type::fine};

using Lines = std::vector<RecordLine>;

const Lines& lines_of(const View& view, OpenedKindState& state, const Canvas& canvas,
                      const std::string& rock) {
  OpenedKindState::Key key{view.picture,
                           view.proposals,
                           rock,
                           view.assessment ? view.assessment->here.station : std::string{},
                           canvas.chosen().sample,
                           canvas.clock().mode};
  if (!state.lines || state.key != key) {
    state.lines = kind_record(view, rock, canvas.clock(), key.here, key.sample);
    state.key = std::move(key);
  }
  return *state.lines;
}

/// Where the keyboard is among the entries: at the chosen sample, else where it was left.
std::string entry_of(const OpenedKindState& state, const Canvas& canvas, const Lines& lines) {
  const auto& sample = canvas.chosen().sample;
  if (sample && std::ranges::find(lines, sample, &RecordLine::sample) != lines.end())
    return "sample " + *sample;
  if (!state.entry.starts_with("sample ") &&
      std::ranges::find(lines, state.entry, &RecordLine::entry) != lines.end())
    return state.entry;
  return {};
}

void go_to(const RecordLine& line, OpenedKindState& state, const Canvas& canvas, Commands& out) {
  state.entry = line.entry;
  Chosen chosen = canvas.chosen();
  chosen.sample = line.sample;
  if (line.station) chosen.station = line.station;
  out.push_back(ask::Choose{chosen});
}

void show(const RecordLine& line, Commands& out) {
  if (line.event) out.push_back(ask::ShowEvent{*line.event});
}

/// The first line of the entry after (before) the one stood on; of the first (last) where none is.
const RecordLine* next_entry(const Lines& lines, const std::string& stands, bool forward) {
  std::vector<const RecordLine*> heads;
  for (std::size_t i = 0; i < lines.size(); ++i)
    if (!lines[i].entry.empty() && (i == 0 || lines[i - 1].entry != lines[i].entry))
      heads.push_back(&lines[i]);
  if (heads.empty()) return nullptr;
  const auto at =
      std::ranges::find_if(heads, [&](const RecordLine* head) { return head->entry == stands; });
  if (at == heads.end()) return forward ? heads.front() : heads.back();
  if (forward) return std::next(at) == heads.end() ? *at : *std::next(at);
  return at == heads.begin() ? *at : *std::prev(at);
}

/// Into sight, now that its checklist is unfolded, and that of the sample before is not. The line
/// above it, the name of its part, is of use where there is room. `fit`: lines in sight.
void bring(const std::string& entry, const Lines& lines, std::size_t fit, OpenedKindState& state) {
  const auto is_it = [&](const RecordLine& line) { return line.entry == entry; };
  const auto first = static_cast<std::size_t>(std::ranges::find_if(lines, is_it) - lines.begin());
  const auto count = static_cast<std::size_t>(std::ranges::count_if(lines, is_it));
  const std::size_t above = first > 0 && count < fit ? 1 : 0;
  if (first < state.line + above)
    state.line = first - above;
  else if (first + count > state.line + fit)
    state.line = std::min(first - above, first + count - std::min(first + count, fit));
}

/// Keys walk from entry to entry; the sample stood on shows its checklist.
void walk_entries(const Lines& lines, const std::string& stands, std::size_t fit,
                  OpenedKindState& state, const Canvas& canvas, Commands& out) {
  const bool next = canvas.asked("kinds.next_sample");
  if (next || canvas.asked("kinds.sample_before")) {
    if (const RecordLine* to = next_entry(lines, stands, next)) {
      go_to(*to, state, canvas, out);
      state.bring = true;
    }
  } else if (std::exchange(state.bring, false) && !stands.empty()) {
    bring(stands, lines, fit, state);
  }
  if (!canvas.asked("kinds.show") || stands.empty()) return;
  const RecordLine& line = *std::ranges::find(lines, stands, &RecordLine::entry);
  show(line, out);
  // A place is shown where it lies.
  out.push_back(ask::Focus{line.event ? RegionId::heard : RegionId::ground});
}

void scroll_lines(std::size_t count, std::size_t fit, const Rect& box, OpenedKindState& state,
                  const Canvas& canvas) {
  const std::size_t last = count > fit ? count - fit : 0;
  if (canvas.pointer().over && box.contains(canvas.pointer().at)) {
    if (canvas.pointer().wheel < 0) state.line = std::min(last, state.line + 1);
    if (canvas.pointer().wheel > 0 && state.line > 0) --state.line;
  }
  if (canvas.asked("kinds.page_down")) state.line = std::min(last, state.line + fit);
  if (canvas.asked("kinds.page_up")) state.line -= std::min(state.line, fit);
  state.line = std::min(state.line, last);
}

/// The lines [begin, end) of the entry stood on are one ground, without notches between them.
void draw_ground_of(const std::string& stands, const Lines& lines, std::size_t begin,
                    std::size_t end, Canvas& canvas, const Rect& box) {
  if (stands.empty()) return;
  const float pitch = canvas.px(record_pitch);
  const auto stood_on = [&](std::size_t i) { return lines[i].entry == stands; };
  for (std::size_t i = begin; i < end;) {
    std::size_t next = i;
    while (next < end && stood_on(next)) ++next;
    if (next > i)
      canvas.chosen_ground({box.x, box.y + static_cast<float>(i - begin) * pitch, box.w,
                            static_cast<float>(next - i) * pitch});
    i = std::max(next, i + 1);
  }
}

/// True: it was pressed.
bool draw_record_line(const RecordLine& line, Canvas& canvas, const Rect& row) {
  const Fonts& f = canvas.fonts();
  const float indent = canvas.px(52), baseline = canvas.baseline_in(row.y, row.h, Type::text);
  if (line.entry.empty()) {
    canvas.text({row.x, baseline}, {Type::fine, Weight::semibold}, Ink::ink, line.text);
    canvas.text({row.right(), baseline}, record_aside, Ink::soft, line.right, Align::right);
    return false;
  }
  canvas.figures({row.x, baseline}, {Type::text, line.sample ? Weight::medium : Weight::regular},
                 line.sample ? Ink::ink : Ink::soft,
                 ellipsis(f, record_font, line.left, indent - canvas.px(6)));
  float right = 0;
  if (!line.right.empty())
    right = canvas.text({row.right(), baseline}, record_aside, line.right_ink,
                        ellipsis(f, record_aside, line.right, row.w * 0.4F), Align::right) +
            canvas.px(10);
  const std::string text = ellipsis(f, record_font, line.text, row.w - indent - right);
  canvas.text({row.x + indent, baseline}, record_font, line.ink, text);
  if (text != line.text) canvas.tip(row, line.text);
  return canvas.press("line", row);
}

}  // namespace

float opened_height(const View& view, OpenedKindState& state, const Canvas& canvas,
                    const std::string& rock) {
  const auto lines = static_cast<float>(lines_of(view, state, canvas, rock).size());
  return canvas.px(section_head) + canvas.px(record_pitch) * (1 + std::max(1.0F, lines));
}

void draw_opened(const View& view, OpenedKindState& state, Canvas& canvas, const std::string& rock,
                 float top, Commands& out) {
  const Rect& area = canvas.area();
  if (state.kind != rock) {
    state.kind = rock;
    state.line = 0;
    state.entry.clear();
  }
  const float pitch = canvas.px(record_pitch);
  float y = draw_section(canvas, top, rock, "← → walk    Enter shows it    Esc closes");
  canvas.text(
      {area.x, y + canvas.px(11)}, record_font, Ink::soft,
      ellipsis(canvas.fonts(), record_font, kind_summary(view, rock, canvas.clock()), area.w));
  y += pitch;

  const Lines& lines = lines_of(view, state, canvas, rock);
  const std::string stands = entry_of(state, canvas, lines);
  const Rect box{area.x, y, area.w, area.bottom() - y};
  const auto fit = static_cast<std::size_t>(std::max(0.0F, box.h / pitch));
  walk_entries(lines, stands, fit, state, canvas, out);
  if (lines.empty())
    canvas.text({area.x, y + canvas.px(14)}, record_font, Ink::soft,
                "No sample and no word of it.");
  if (fit == 0 || lines.empty()) return;
  scroll_lines(lines.size(), fit, box, state, canvas);
  const std::size_t end = std::min(lines.size(), state.line + fit);
  draw_ground_of(stands, lines, state.line, end, canvas, box);
  for (std::size_t i = state.line; i < end; ++i) {
    const Rect row{box.x, y + static_cast<float>(i - state.line) * pitch, box.w, pitch};
    if (!draw_record_line(lines[i], canvas, row)) continue;
    go_to(lines[i], state, canvas, out);
    show(lines[i], out);
  }
}

}  // namespace stonecall::desk
