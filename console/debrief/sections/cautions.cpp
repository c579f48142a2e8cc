#include "console/advise/turn_back.hpp"
#include "console/debrief/sections/sections.hpp"

namespace stonecall::debrief::sections {

Markup cautions(const Debrief& debrief, Pen&) {
  Markup list;
  list +=
      element("li", element("b", "Turn-back figures. ") + std::string(advise::turn_back_caution) +
                        " A party that turned back earlier than the figures did right by its "
                        "leader, and no call here is a reproach to it.");
  if (debrief.picture->plan && debrief.picture->plan->walking.use_heights)
    list += element("li", std::string(advise::heights_caution));
  list += element("li",
                  "Local codes, permits and licensed practice hold before anything on these "
                  "pages, in the field and for what is taken from it.");
  list += element("li",
                  "An estimate is as good as what was counted. Where it says no basis, there "
                  "is none: ask for a tally next time.");
  list += element("li",
                  "The advised call weighs what the plan says is wanted. It is what the method "
                  "would have said on what had been received, not what was right.");
  list += element("li",
                  "What followed a call came after it; that it came because of it is for those "
                  "who were there to say.");
  return element("ul", list);
}

}  // namespace stonecall::debrief::sections
