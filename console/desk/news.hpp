#pragma once

#include <map>
#include <set>
#include <string>
#include <vector>

#include "console/desk/command.hpp"
#include "console/desk/view.hpp"

/// Changes that want eyes: marked at their region until it was looked at. Live and in practice; a
/// replay is looked at by whoever moves it.
namespace stonecall::desk {

struct Change {
  std::string key;  ///< the same as long as it is the same change
  std::string words;
  bool operator==(const Change&) const = default;
};

/// What wants eyes in a region as it stands: in Call another kind of advice, a question that is
/// open, a call declined or not heard; in Kinds what does not fit together; in Heard what others
/// than `me` put right or took back.
std::vector<Change> wants_eyes(RegionId region, const View& view, const std::string& me);

class News {
 public:
  /// Brings what is marked up to date. What stands there when the desk has caught up is no news;
  /// `focus` is being looked at.
  void follow(const View& view, RegionId focus, const std::string& me);
  /// What came since the region was looked at last, oldest first.
  const std::vector<Change>& unseen(RegionId region) const;

 private:
  struct Of {
    std::set<std::string> seen;
    std::vector<Change> now, unseen;
  };
  std::map<RegionId, Of> regions_;
  bool begun_ = false;
  // What `now` was worked out from.
  picture::PicturePtr picture_;
  std::shared_ptr<const advise::Assessment> assessment_;
  protocol::Instant at_{};
};

}  // namespace stonecall::desk
