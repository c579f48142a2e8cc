#pragma once

#include "console/desk/region.hpp"

namespace stonecall::desk {

struct KindsState {};
struct CallState {};
struct GroundState {};

}  // namespace stonecall::desk
