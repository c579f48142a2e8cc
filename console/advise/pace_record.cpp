#include "console/advise/pace_record.hpp"

#include <algorithm>

namespace stonecall::advise {
namespace {

double minutes(picture::Milliseconds time) {
  return static_cast<double>(time.count()) / 60'000;
}

/// One word alone still took a while, and a word that comes long after was not handling (both
/// limits: common practice, no source).
double handling_minutes(const picture::Sample& sample) {
  picture::Instant last = sample.first;
  for (const auto& statement : sample.statements) last = std::max(last, statement.at);
  for (const auto& photo : sample.photos) last = std::max(last, photo.origin.at);
  return std::clamp(minutes(last - sample.first), 1.0, 15.0);
}

}  // namespace

PaceRecord pace_record(const picture::Picture& picture, picture::Instant now) {
  PaceRecord record;
  for (const auto& visit : picture.visits) {
    if (picture.plan && visit.station == picture.plan->base.station) continue;
    if (visit.arrived < now)
      record.minutes += minutes(std::min(visit.left.value_or(now), now) - visit.arrived);
  }
  for (const auto& sample : picture.samples) {
    if (!sample.taken || sample.first > now) continue;
    ++record.samples;
    record.handling_minutes += handling_minutes(sample);
  }
  for (const auto& look : picture.looks) record.rocks += look.total;
  record.rocks += record.samples;
  return record;
}

estimate::Estimate<estimate::RatePosterior> looking_rate(const PaceRecord& record,
                                                         const protocol::Pace& expected) {
  return estimate::rate_posterior(
      static_cast<double>(record.rocks), std::max(record.minutes - record.handling_minutes, 0.0),
      expected.looks_per_minute * expected.sureness_minutes, expected.sureness_minutes);
}

estimate::Estimate<estimate::DurationPosterior> handling_time(const PaceRecord& record,
                                                              const protocol::Pace& expected) {
  return estimate::handling_posterior(record.samples, record.handling_minutes,
                                      expected.handling_minutes, expected.sureness_samples);
}

}  // namespace stonecall::advise
