#pragma once

#include <string>
#include <vector>

#include "console/picture/picture.hpp"

namespace stonecall::picture {

struct MemberChange {
  std::string member;
  protocol::Json before, after;  ///< null: was not there, is taken away
  bool operator==(const MemberChange&) const = default;
};

/// One thing that was done to an event after it was posted.
struct Alteration {
  enum class What {
    amended,
    retracted,
    undone,  ///< an earlier alteration was taken back
  };
  What what{};
  Origin by;                          ///< the altering event; of an accepted reading its note
  std::vector<MemberChange> changes;  ///< of an amendment: what it changed of what stood before it
  std::string why;                    ///< empty: not said
  std::string refused;                ///< why it could not be worked in; empty: it could
  bool in_force = true;               ///< false: taken back since
  bool operator==(const Alteration&) const = default;
};

/// All that was done to an event or to the reading of a note since it came, oldest first; empty for
/// an event that is not there. Looks through all that was heard.
std::vector<Alteration> alterations(const Picture& picture, const Uuid& id);

/// The event, or the reading of a note, as it stands, or as it came; null where it is not there.
/// Looks from the end of what was heard.
EventPtr statement(const Picture& picture, const Uuid& id, bool as_it_came);

/// The members that an amendment may change, as they stand: those of the event's kind and `at`; of
/// a reading those of its fact.
protocol::Json members_of(const protocol::Event& event);

}  // namespace stonecall::picture
