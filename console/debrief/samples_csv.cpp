#include <fmt/format.h>

#include "console/debrief/sample_place.hpp"
#include "console/debrief/samples_file.hpp"
#include "console/picture/gaps.hpp"

namespace stonecall::debrief {
namespace {

std::string field(const std::string& text) {
  if (text.find_first_of(",\"\r\n") == std::string::npos) return text;
  std::string quoted = "\"";
  for (const char c : text) {
    if (c == '"') quoted += '"';
    quoted += c;
  }
  return quoted + "\"";
}

class Row {
 public:
  Row& operator<<(const std::string& text) {
    if (!line_.empty() || begun_) line_ += ',';
    begun_ = true;
    line_ += field(text);
    return *this;
  }
  Row& operator<<(const std::optional<double>& value) {
    return *this << (value ? fmt::format("{}", *value) : std::string());
  }
  Row& operator<<(const std::optional<protocol::PercentRange>& range) {
    *this << (range ? std::optional(range->low) : std::nullopt);
    return *this << (range ? std::optional(range->high) : std::nullopt);
  }
  std::string line() const { return line_ + "\r\n"; }

 private:
  std::string line_;
  bool begun_ = false;
};

std::string degrees(double value) {
  return fmt::format("{:.7f}", value);
}

template <class List, class Name>
std::string joined(const List& all, Name name) {
  std::string text;
  for (const auto& each : all) text += (text.empty() ? "" : "; ") + std::string(name(each));
  return text;
}

constexpr std::array columns{"number",
                             "bag",
                             "rock",
                             "station",
                             "first_word",
                             "elapsed",
                             "chosen",
                             "latitude",
                             "longitude",
                             "height_metres",
                             "place_from",
                             "tie_to",
                             "tie_bearing_degrees",
                             "tie_distance_metres",
                             "size_mm",
                             "buried_low_percent",
                             "buried_high_percent",
                             "like_it_low_percent",
                             "like_it_high_percent",
                             "picked",
                             "relation",
                             "description",
                             "shape",
                             "colour",
                             "texture",
                             "photos",
                             "documented",
                             "lacks",
                             "contradictions"};

std::string row_of(const picture::Sample& sample, const picture::Picture& picture) {
  const auto start = picture::start_of(picture);
  const auto offset = local_offset(picture);
  const auto place = place_of(sample, picture);
  const auto gaps =
      picture::gaps(sample, picture.plan ? picture.plan->documentation : protocol::Documentation{});
  Row row;
  row << sample.number << sample.bag << sample.rock << sample.station
      << protocol::to_string(protocol::Timestamp{sample.first, offset})
      << protocol::elapsed_text(sample.first - start)
      << std::string(sample.unselective ? "no" : "yes");
  row << (place ? degrees(place->position.latitude) : "")
      << (place ? degrees(place->position.longitude) : "")
      << (place ? place->position.height_metres : std::nullopt)
      << std::string(!place            ? ""
                     : place->from_tie ? "tie"
                                       : "stated");
  const auto& tie = sample.tie;
  row << (!tie ? std::string()
               : tie->to.value_or(picture.plan ? picture.plan->base.station : std::string()))
      << (tie ? std::optional(tie->bearing_degrees) : std::nullopt)
      << (tie ? std::optional(tie->distance_metres) : std::nullopt);
  row << sample.size_mm << sample.buried << sample.like_it << sample.picked << sample.relation
      << sample.description << sample.shape << sample.colour << sample.texture
      << joined(sample.photos, [](const auto& photo) { return protocol::to_string(photo.view); })
      << std::string(gaps.empty() ? "yes" : "no")
      << joined(gaps, [](picture::Gap gap) { return picture::words(gap); })
      << joined(sample.contradictions, [](const auto& each) {
           return fmt::format("{}: {}, later {}", each.member, each.before, each.after);
         });
  return row.line();
}

}  // namespace

std::string samples_csv(const picture::Picture& picture) {
  Row head;
  for (const char* column : columns) head << std::string(column);
  std::string text = head.line();
  for (const auto& sample : picture.samples)
    if (sample.taken) text += row_of(sample, picture);
  return text;
}

}  // namespace stonecall::debrief
