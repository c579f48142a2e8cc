#include "console/desk/heard_rows.hpp"

#include <algorithm>
#include <cmath>

namespace stonecall::desk {
namespace {

using picture::HeardLine;

/// Good enough for a row nobody looks at; measured as soon as it comes into sight.
double estimated_height(const HeardLine& line, float text_width, const Fonts& fonts) {
  constexpr double air = 13, chip_width = 150, chip_height = 28;  // design pixels
  const double width = static_cast<double>(text_width), scale = static_cast<double>(fonts.scale());
  const double letter = fonts.em(Type::text) * 0.5;
  const auto* note = std::get_if<protocol::VoiceNote>(&line.event->body);
  const double bytes = note ? static_cast<double>(note->text.size()) : 40;
  const double lines = std::max(1.0, std::ceil(bytes * letter / width));
  const double chips =
      std::ceil(static_cast<double>(line.readings.size()) * chip_width * scale / width);
  return lines * static_cast<double>(fonts.line_height(Type::text)) +
         scale * (air + chips * chip_height);
}

bool same_line(const HeardLine& a, const HeardLine& b) {
  return a.event == b.event && a.amended == b.amended && a.retracted == b.retracted &&
         std::ranges::equal(a.readings, b.readings, {}, &picture::ReadingMade::retracted,
                            &picture::ReadingMade::retracted);
}

}  // namespace

std::size_t HeardRows::unchanged_lines(const picture::PicturePtr& picture,
                                       const HeardFilter& filter) const {
  if (!picture_ || !picture) return 0;
  // Where the party was when a line was said may be put right later.
  if (!filter.station.empty() && picture_->visits != picture->visits) return 0;
  const auto& before = picture_->heard;
  const auto& now = picture->heard;
  const std::size_t least = std::min(before.size(), now.size());
  std::size_t same = 0;
  while (same < least && same_line(before[same], now[same])) ++same;
  return same;
}

void HeardRows::follow(const picture::PicturePtr& picture, const HeardFilter& filter,
                       float text_width, const Fonts& fonts) {
  const bool same_rows = filter == filter_ && text_width == width_ && fonts.scale() == scale_;
  if (same_rows && picture == picture_) return;
  const std::size_t keep = same_rows ? unchanged_lines(picture, filter) : 0;
  filter_ = filter;
  width_ = text_width;
  scale_ = fonts.scale();
  picture_ = picture;
  rows_.erase(std::ranges::lower_bound(rows_, keep), rows_.end());
  heights_.resize_down(rows_.size());
  if (!picture) return;
  for (std::size_t i = keep; i < picture->heard.size(); ++i) {
    const HeardLine& line = picture->heard[i];
    if (!passes(filter, line, *picture)) continue;
    rows_.push_back(static_cast<std::uint32_t>(i));
    heights_.push_back(estimated_height(line, text_width, fonts));
  }
}

}  // namespace stonecall::desk
