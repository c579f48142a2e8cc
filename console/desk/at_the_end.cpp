#include "console/desk/at_the_end.hpp"

#include "console/advise/memory.hpp"

namespace stonecall::desk {

AtTheEnd at_the_end(const picture::Picture& then, const advise::Assessment& assessment,
                    const picture::Picture& end, advise::Memory& memory) {
  return {advise::in_hindsight(then, assessment, end, memory),
          advise::assess_ground(end, {}, picture::last_word(end).value_or(assessment.now), memory)};
}

}  // namespace stonecall::desk
