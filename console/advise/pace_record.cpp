#include "console/advise/pace_record.hpp"

#include <algorithm>

namespace stonecall::advise {
namespace {

/// One word alone still took a while, and a word that comes long after was not handling (both
/// limits: common practice, no source).
double handling_minutes(const picture::Sample& sample) {
  picture::Instant last = sample.first;
  for (const auto& statement : sample.statements) last = std::max(last, statement.at);
  for (const auto& photo : sample.photos) last = std::max(last, photo.origin.at);
  return std::clamp(protocol::in_minutes(last - sample.first), 1.0, 15.0);
}

}  // namespace

PaceRecord pace_record(const picture::Picture& picture, picture::Instant now) {
  PaceRecord record;
  for (const auto& visit : picture.visits) {
    if (picture.plan && visit.station == picture.plan->base.station) continue;
    if (visit.arrived < now)
      record.minutes +=
          protocol::in_minutes(std::min(visit.left.value_or(now), now) - visit.arrived);
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

std::optional<PaceNow> pace_at(const picture::Picture& picture, Instant now) {
  const protocol::Pace expected = picture.plan ? picture.plan->pace : protocol::Pace{};
  const PaceRecord record = pace_record(picture, now);
  const auto rate = looking_rate(record, expected);
  const auto each = handling_time(record, expected);
  if (!rate || !each) return std::nullopt;
  PaceNow pace;
  pace.rocks = record.rocks;
  pace.samples = record.samples;
  pace.minutes = record.minutes;
  const auto rate_interval = rate->interval();
  const auto each_interval = each->interval_minutes();
  pace.looking = *rate;
  pace.rocks_per_minute = {rate->mean(), rate_interval.lower, rate_interval.upper};
  pace.minutes_per_sample = {each->mean_minutes().value_or(each->median_minutes()),
                             each_interval.lower, each_interval.upper};
  return pace;
}

}  // namespace stonecall::advise
