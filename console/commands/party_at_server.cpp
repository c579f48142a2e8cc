#include "console/commands/party_at_server.hpp"

#include <algorithm>

namespace stonecall::commands {
namespace {

constexpr auto look_each = std::chrono::milliseconds(40);

protocol::ClientOptions options_for(const protocol::ServerAddress& server) {
  protocol::ClientOptions options;
  options.server = server;
  return options;
}

}  // namespace

PartyAtServer::PartyAtServer(const protocol::ServerAddress& server, const protocol::Plan& plan,
                             std::unique_ptr<debrief::MadeUpExercise> exercise)
    : start_(plan.start),
      exercise_(std::move(exercise)),
      client_(options_for(server)),
      thread_([this](const std::stop_token& stop) { take_part(stop); }) {}

void PartyAtServer::take_part(const std::stop_token& stop) {
  const auto minute_of = [&](protocol::Instant at) {
    return protocol::in_minutes(at - start_.instant);
  };
  double minute = 0;
  for (; !stop.stop_requested(); std::this_thread::sleep_for(look_each)) {
    const auto incoming = client_.take();
    const auto link = client_.link();
    if (!link.clock_taken) continue;  // the server has not said yet what time it is
    const auto here = std::chrono::floor<protocol::Milliseconds>(std::chrono::system_clock::now());
    minute = std::max(minute, minute_of(link.server_time(here)));
    for (const auto& event : incoming.events)
      exercise_->send(*event, std::max(minute_of(protocol::known_at(*event).instant), 0.0));
    for (auto& event : exercise_->until(minute)) client_.post(std::move(event));
  }
}

}  // namespace stonecall::commands
