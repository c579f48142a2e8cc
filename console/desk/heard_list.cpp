#include "console/desk/heard_list.hpp"

#include <algorithm>

namespace stonecall::desk {

HeardList::HeardList(const View& view, const HeardFilter& filter, HeardListState& state,
                     const Canvas& canvas, Rect place)
    : view_(view),
      state_(state),
      canvas_(canvas),
      columns_(heard_columns(canvas, place.w)),
      high_(static_cast<double>(place.h)) {
  state.rows.follow(view.picture, filter, columns_.text_width, canvas.fonts());
  if (empty()) return;
  const std::optional<protocol::Uuid>& chosen = canvas.chosen().event;
  if (state.past_of != chosen || state.past_in != view.picture) {
    state.past_of = chosen;
    state.past_in = view.picture;
    state.past.clear();
    if (chosen) state.past = picture::alterations(*view.picture, *chosen);
  }
  if (!state.following && state.anchor) {
    const std::size_t row = row_of(*state.anchor, state.anchor_row).value_or(0);
    measured(row);
    scroll_ = top_of(row) + static_cast<double>(state.cut);
  } else {
    measure_end();
    scroll_ = total() - high_;
  }
}

const picture::HeardLine& HeardList::line(std::size_t row) const {
  return view_.picture->heard[state_.rows.line(row)];
}

HeardRow HeardList::measured(std::size_t row) {
  const picture::HeardLine& of = line(row);
  HeardRow laid = lay_row(view_, of, columns_, canvas_, canvas_.chosen().event == of.event->id,
                          state_.past, state_.looked_up);
  state_.rows.heights().set(row, static_cast<double>(laid.height));
  return laid;
}

std::optional<std::size_t> HeardList::row_of(const protocol::Uuid& event,
                                             std::size_t& last_known) const {
  if (last_known < size() && line(last_known).event->id == event) return last_known;
  for (std::size_t i = size(); i-- > 0;)
    if (line(i).event->id == event) return last_known = i;
  return std::nullopt;
}

void HeardList::move_to(double scroll) {
  if (scroll >= total() - high_ - 0.5) {
    if (!state_.following) state_.seen_lines = 0;
    state_.following = true;
    measure_end();
    scroll_ = total() - high_;
    return;
  }
  if (state_.following) state_.seen_lines = view_.picture->heard.size();
  state_.following = false;
  const double from = std::max(0.0, scroll);
  const std::size_t row = row_at(from);
  const double high = static_cast<double>(measured(row).height);
  state_.anchor = line(row).event->id;
  state_.anchor_row = row;
  state_.cut = static_cast<float>(std::clamp(from - top_of(row), 0.0, high));
  scroll_ = top_of(row) + static_cast<double>(state_.cut);
}

void HeardList::bring(std::size_t row) {
  const double high = static_cast<double>(measured(row).height);
  const double begin = top_of(row), end = begin + high;
  if (begin < scroll_)
    move_to(begin);
  else if (end > scroll_ + high_)
    move_to(end - high_);
}

void HeardList::measure_end() {
  double shown = 0;
  for (std::size_t row = size(); row-- > 0 && shown < high_;)
    shown += static_cast<double>(measured(row).height);
}

}  // namespace stonecall::desk
