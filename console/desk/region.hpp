#pragma once

#include "console/desk/canvas.hpp"
#include "console/desk/command.hpp"
#include "console/desk/keys.hpp"
#include "console/desk/view.hpp"

/// A region of the desk is a free function
///
///     Commands draw_heard(const View& view, HeardState& state, Canvas& canvas);
///
/// and a span of key lines. It draws the immutable view into `canvas.area()`, changes nothing but
/// its own small state (scroll, filter, what is unfolded) and returns what it asks for. It never
/// waits, computes statistics, reads a clock or touches another region. `view.picture` and
/// `view.assessment` may be null and must then leave calm, labelled space.
///
/// For the region `xyz` there are xyz.hpp and xyz.cpp with `struct XyzState`, `draw_xyz` and
/// `xyz_keys`; where it has several ideas each is a part of its own, xyz_part.hpp and xyz_part.cpp.
namespace stonecall::desk {

struct KindsState;
struct CallState;
struct GroundState;

Commands draw_kinds(const View& view, KindsState& state, Canvas& canvas);
Commands draw_call(const View& view, CallState& state, Canvas& canvas);
Commands draw_ground(const View& view, GroundState& state, Canvas& canvas);

std::span<const KeyLine> kinds_keys();
std::span<const KeyLine> call_keys();
std::span<const KeyLine> ground_keys();

}  // namespace stonecall::desk
