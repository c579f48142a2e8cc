#pragma once

#include <optional>
#include <string>

#include "console/desk/view.hpp"

/// Who may send what from this desk, and the advised call as it is sent.
namespace stonecall::desk {

/// Calls and answers; in a replay nothing is sent.
bool may_send(const View& view);
/// A chance is no call: it may be stated in a replay too, where it stands beside the log.
bool may_state(const View& view);
/// What the field said of a call; in practice the recorded party, or the made-up one, answers for
/// itself.
bool may_answer_for_field(const View& view);

/// The event that sends the advised call; none where there is nothing to send, or where the advice
/// is no longer current.
std::optional<protocol::Call> advised_call(const View& view);

/// A call in these words already went out and was not declined.
bool already_sent(const View& view, const std::string& sentence);

}  // namespace stonecall::desk
