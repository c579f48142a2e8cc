#pragma once

#include <memory>
#include <thread>

#include "console/debrief/made_up_exercise.hpp"
#include "protocol/client.hpp"

namespace stonecall::commands {

/// A made-up party that takes part in an exercise through the server as a real one does: it posts
/// what it says and hears what is sent to it, by the server's clock. On a thread of its own until
/// it is destroyed.
class PartyAtServer {
 public:
  /// `plan` is the exercise's, for its start.
  PartyAtServer(const protocol::ServerAddress& server, const protocol::Plan& plan,
                std::unique_ptr<debrief::MadeUpExercise> exercise);

 private:
  void take_part(const std::stop_token& stop);

  protocol::Timestamp start_;
  std::unique_ptr<debrief::MadeUpExercise> exercise_;
  protocol::Client client_;
  std::jthread thread_;
};

}  // namespace stonecall::commands
