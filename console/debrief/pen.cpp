#include "console/debrief/pen.hpp"

#include <array>
#include <cmath>

#include <fmt/chrono.h>
#include <fmt/format.h>

#include "console/charts/mark.hpp"
#include "console/charts/svg.hpp"

namespace stonecall::debrief {

Pen::Pen(const Debrief& debrief)
    : start_(debrief.start), offset_(debrief.offset), planned_(debrief.picture->plan.has_value()) {
  for (std::size_t i = 0; i < debrief.picture->kinds.size(); ++i)
    series_.emplace(debrief.picture->kinds[i], i);
}

std::string Pen::elapsed(Instant at) const {
  return protocol::elapsed_minutes_text(at - start_);
}

std::string Pen::told(const advise::Telling& words, Instant start) const {
  return words.told([&](Milliseconds moment) { return elapsed(start + moment); });
}

std::string Pen::counted_from() const {
  return planned_ ? "the planned start" : "the first word of the log";
}

std::string Pen::date() const {
  static constexpr std::array months{"January",   "February", "March",    "April",
                                     "May",       "June",     "July",     "August",
                                     "September", "October",  "November", "December"};
  const std::chrono::year_month_day day(std::chrono::floor<std::chrono::days>(start_ + offset_));
  return fmt::format("{} {} {}", static_cast<unsigned>(day.day()),
                     months[static_cast<unsigned>(day.month()) - 1], static_cast<int>(day.year()));
}

std::string Pen::local(Instant at) const {
  const auto local = at + offset_;
  const std::chrono::hh_mm_ss time(local - std::chrono::floor<std::chrono::days>(local));
  const auto offset = std::abs(offset_.count());
  return fmt::format("{:02}:{:02} (UTC{}{:02}:{:02})", time.hours().count(), time.minutes().count(),
                     offset_.count() < 0 ? '-' : '+', offset / 60, offset % 60);
}

std::optional<std::size_t> Pen::series(const std::string& rock) const {
  const auto found = series_.find(rock);
  return found == series_.end() ? std::nullopt : std::optional(found->second);
}

Markup Pen::kind(const std::string& rock) const {
  if (rock.empty()) return element("span", {{"class", "soft"}}, "not named");
  const auto number = series(rock);
  if (!number) return rock;
  return element("span", {{"class", "kind"}},
                 Markup::verbatim(fmt::format(
                     "<svg class=\"glyph\" width=\"14\" height=\"14\" aria-hidden=\"true\">"
                     "<use href=\"#glyph-{}\"/></svg>",
                     *number)) +
                     rock);
}

Markup Pen::figure(const charts::Chart& chart, const Markup& caption) {
  const std::string id = fmt::format("figure-{}", ++figures_);
  Markup inside = Markup::verbatim(charts::svg(chart, charts::print_palette(), {.id = id}));
  if (!caption.empty()) inside += element("figcaption", caption);
  return element("figure", inside);
}

Markup Pen::drawing(const charts::Chart& chart) const {
  return Markup::verbatim(charts::svg(chart, charts::print_palette(), {.in_words = true}));
}

Markup Pen::glyphs() const {
  const auto& palette = charts::print_palette();
  std::string html = "<svg class=\"store\" width=\"0\" height=\"0\" aria-hidden=\"true\">\n";
  for (std::size_t i = 0; i < series_.size(); ++i) {
    std::string points;
    for (const auto& p : charts::mark_outline(charts::series_shape(i), 10))
      points += fmt::format("{}{:.2f},{:.2f}", points.empty() ? "" : " ", p.x, p.y);
    html += fmt::format(
        "<symbol id=\"glyph-{}\" viewBox=\"-7 -7 14 14\"><polygon points=\"{}\" fill=\"{}\" "
        "stroke=\"{}\"/></symbol>\n",
        i, points, charts::hex(palette.series[i % palette.series.size()]),
        charts::hex(palette.series_edge[i % palette.series_edge.size()]));
  }
  return Markup::verbatim(html + "</svg>\n");
}

std::string counted_in(const advise::Basis& basis) {
  std::vector<std::string> in;
  if (basis.looks > 0 || basis.unselective == 0) in.push_back(count(basis.looks, "look", "looks"));
  if (basis.unselective > 0)
    in.push_back(count(basis.unselective, "unselective sample", "unselective samples"));
  return listed(in);
}

std::string minutes_text(double minutes) {
  return std::abs(minutes) < 0.5 ? "under a minute" : fmt::format("{:.0f} min", minutes);
}

std::string minutes_text(Milliseconds span) {
  return minutes_text(protocol::in_minutes(span));
}

std::string listed(const std::vector<std::string>& words) {
  std::string text;
  for (std::size_t i = 0; i < words.size(); ++i)
    text += (i == 0 ? "" : i + 1 == words.size() ? " and " : ", ") + words[i];
  return text;
}

}  // namespace stonecall::debrief
