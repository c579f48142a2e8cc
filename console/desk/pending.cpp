#include "console/desk/pending.hpp"

namespace stonecall::desk {

Commands draw_kinds(const View&, KindsState&, Canvas& canvas) {
  canvas.heading("Kinds");
  return {};
}
Commands draw_call(const View&, CallState&, Canvas& canvas) {
  canvas.heading("Call");
  return {};
}
Commands draw_ground(const View&, GroundState&, Canvas& canvas) {
  canvas.heading("Ground");
  return {};
}
std::span<const KeyLine> kinds_keys() {
  return {};
}
std::span<const KeyLine> call_keys() {
  return {};
}
std::span<const KeyLine> ground_keys() {
  return {};
}

}  // namespace stonecall::desk
