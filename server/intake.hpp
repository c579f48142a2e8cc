#pragma once

#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "server/access.hpp"
#include "server/problem.hpp"
#include "server/store.hpp"

namespace stonecall::server {

struct PostLimits {
  static constexpr std::size_t bytes = 4 * 1024 * 1024;
  static constexpr std::size_t events = 1'000;
  /// What the server's own members may add to an event.
  static constexpr std::size_t server_members_bytes = 128;
};

enum class PostForm {
  json,   ///< one event or an array of them
  lines,  ///< JSON Lines (application/x-ndjson)
};

/// A post as read: what can be stored, and for each event sent, in order, what to answer.
struct Intake {
  struct Item {
    std::string id;       ///< as sent; empty if it could not be read
    std::string refused;  ///< why; empty if it is among the drafts
  };
  std::vector<Item> items;
  std::vector<Draft> drafts;  ///< those not refused, in order
};

/// Reads a post. The error says why nothing of it could be read as events; single bad events are
/// refused one by one.
tl::expected<Intake, Problem> read_post(std::string_view body, PostForm form, Role role);

/// What became of each event, in the order sent, as a JSON array. `placed` holds one entry for each
/// item that was not refused, in their order.
std::string results_text(const std::vector<Intake::Item>& items, const std::vector<Placed>& placed);

/// The answer: `results` in the order sent, as JSON text, and the status that goes with it (200 all
/// stand, 207 some were refused, 400 none could be read).
struct PostAnswer {
  unsigned status = 200;
  std::string body;
};
PostAnswer answer_to(const std::vector<Intake::Item>& items, const std::vector<Placed>& placed);

/// What a client is told when the store could not take its post: 507 when full, else 503.
Problem problem_of(const StoreFault& fault);

}  // namespace stonecall::server
