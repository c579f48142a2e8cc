#pragma once

#include <string>
#include <vector>

#include "console/estimate/abundance.hpp"
#include "console/picture/picture.hpp"

/// From the picture to what the estimates take: which looks, shares and samples count where.
namespace stonecall::advise {

/// A station, or the whole exercise (no name).
struct Where {
  std::string station;
  bool includes(const std::string& place) const { return station.empty() || place == station; }
};

/// Evidence over the given kinds and one class "other" after them. Looks count as they are; the
/// unselective samples of a place count as one more look. A chosen sample only adds to
/// `chosen_not_used`. Spoken shares count for the station they were said of, never for the whole
/// exercise.
estimate::Evidence evidence_at(const picture::Picture& picture, const Where& where,
                               const std::vector<std::string>& kinds);

/// Kinds known to be present there (met in any way), in the order of the picture.
std::vector<std::string> kinds_met(const picture::Picture& picture, const Where& where);

/// Rocks counted of each kind, all looks and unselective samples together; without "other", which
/// is no kind.
std::vector<std::int64_t> counts_at(const picture::Picture& picture, const Where& where,
                                    const std::vector<std::string>& kinds);

}  // namespace stonecall::advise
