#pragma once

#include <optional>
#include <string>

#include "console/desk/canvas.hpp"

/// What came of calls, chances and questions, as it is told by key.
namespace stonecall::desk {

struct CallWriting;

/// Goes from stated chance to stated chance, those first whose outcome nobody has said, of these
/// those of `adviser`, and says what came of the chosen one. Returns the one that is chosen next.
std::optional<protocol::Uuid> mark_chances(const View& view, const std::string& adviser,
                                           const Canvas& canvas, Commands& out);

/// What the field said of the chosen call, an answer to the chosen question, the chosen line in
/// Heard.
void answer_chosen(const View& view, CallWriting& writing, const Canvas& canvas, Commands& out);

}  // namespace stonecall::desk
