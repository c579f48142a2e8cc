#pragma once

#include <string>

#include "console/desk/clock_text.hpp"
#include "console/picture/alterations.hpp"

/// What puts an event right, in words.
namespace stonecall::desk {

/// A correction with what it corrects: "bag of 14: 31 becomes 32". `target`: what it puts right, as
/// it stood before; null: not known.
std::string correction_text(const protocol::Amend& correction, const protocol::Event* target,
                            const ClockText& clock);

/// "1:12:40 WREN: bag 31 → 32 (misheard)".
std::string alteration_text(const picture::Alteration& alteration, const ClockText& clock);

}  // namespace stonecall::desk
