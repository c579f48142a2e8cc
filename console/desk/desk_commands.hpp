#pragma once

#include <string_view>

#include "console/desk/desk.hpp"

/// What keys of the whole desk and the commands of its regions do to it.
namespace stonecall::desk {

/// A key line that belongs to no region. What concerns those outside goes to `out`.
void answer_desk_key(Desk& desk, const View& view, std::string_view id, Commands& out);

/// Does what a region asks for; what concerns those outside goes to `out`.
void carry_out(const Command& command, Desk& desk, const View& view, Commands& out);

}  // namespace stonecall::desk
