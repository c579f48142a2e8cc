#include "console/reading/recognisers.hpp"

namespace stonecall::reading {

void read_rocks(Draft& draft) {
  for (Draft::At i = 0; i < draft.size(); ++i) {
    const Item& item = draft.at(i);
    if (!item.stated_rock()) continue;
    const KnownRock& rock = draft.rock(item);
    draft.propose(RockHere{rock.name, rock.planned}, i, i, item.weak ? 0.6 : 0.9);
  }
}

}  // namespace stonecall::reading
