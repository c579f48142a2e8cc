#pragma once

#include <map>
#include <string>
#include <vector>

#include "console/estimate/abundance.hpp"
#include "console/estimate/caller.hpp"
#include "console/picture/picture.hpp"

/// From the picture to what the estimates take: which looks, shares and samples count where.
namespace stonecall::advise {

class Memory;

/// A station, or the whole exercise (no name).
struct Where {
  std::string station;
  bool includes(const std::string& place) const { return station.empty() || place == station; }
};

/// What this party's own record says of the ground's patchiness and of each caller's bias and
/// spread.
struct Learned {
  double patchiness = 0;  ///< see estimate/patchiness.hpp; 0 until two looks can be compared
  std::map<std::string, estimate::CallerRecord> callers;
};

Learned learn(const picture::Picture& picture, Memory& memory);
Learned learn(const picture::Picture& picture);

/// A spoken share of a station where rocks were also counted, with what the counts met of its kind.
struct ShareWithCounts {
  std::size_t share = 0;  ///< index into Picture::shares
  estimate::SpokenAndCounted pair;
};

/// What callers are calibrated by, in the order of Picture::shares. `patchiness` as learned.
std::vector<ShareWithCounts> shares_with_counts(const picture::Picture& picture, double patchiness);

/// For each of Picture::shares that was said of this place its caller's record from the other
/// shares alone, said of any place: what to judge it by. In the order of the picture.
std::vector<estimate::CallerRecord> records_without_own(const picture::Picture& picture,
                                                        const Learned& learned, const Where& where,
                                                        Memory& memory);

/// Evidence over the given kinds and one class "other" after them. An unselective sample counts as
/// a look of one rock. A chosen sample only adds to `chosen_not_used`. Spoken shares count for the
/// station they were said of, never for the whole exercise.
estimate::Evidence evidence_at(const picture::Picture& picture, const Learned& learned,
                               const Where& where, const std::vector<std::string>& kinds);

/// How alike the rocks of one look of the evidence are (estimate/patchiness.hpp). As learned; for
/// the whole exercise from the looks themselves, since stations differ more than looks of one
/// station do.
double patchiness_of(const estimate::Evidence& evidence, const Learned& learned,
                     const Where& where);

/// What to divide the tallies of the evidence by, which are so patchy.
double design_effect_of(const estimate::Evidence& evidence, const Learned& learned,
                        const Where& where);

/// Kinds known to be present there (met in any way), in the order of the picture.
std::vector<std::string> kinds_met(const picture::Picture& picture, const Where& where);

/// Rocks counted of each class, all looks and unselective samples together; the last class is
/// "other".
std::vector<std::int64_t> counts_of(const estimate::Evidence& evidence);

/// Takes out of two figures a class those classes where both are 0; the last, "other", stays.
void keep_known_classes(std::vector<double>& a, std::vector<double>& b);

/// Rocks counted there of each kind of the picture and of "other", divided by the design effect:
/// what they are worth as independent looks.
std::vector<double> weighted_counts(const picture::Picture& picture, const Learned& learned,
                                    const Where& where);

}  // namespace stonecall::advise
