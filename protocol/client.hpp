#pragma once

#include <chrono>
#include <cstddef>
#include <cstdint>
#include <functional>
#include <memory>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "protocol/event.hpp"
#include "protocol/fault.hpp"
#include "protocol/time.hpp"

namespace stonecall::protocol {

/// Where a server is.
struct ServerAddress {
  std::string host;
  std::uint16_t port = 0;
  bool secure = false;  ///< TLS; the certificate must be of this host, by an authority that the
                        ///< system (or SSL_CERT_FILE) trusts

  bool operator==(const ServerAddress&) const = default;
};

/// Reads "host:port", "[::1]:port" or the same after "http://" or "ws://"; after "https://" or
/// "wss://" it is secure.
Result<ServerAddress> parse_server_address(std::string_view text);

struct ClientOptions {
  ServerAddress server;
  std::string token;                   ///< bearer token; empty: none is sent
  std::uint64_t after = 0;             ///< follow from the event after this seq
  bool posts_only = false;             ///< follow nothing; `catching_up` is then as far as it gets
  std::size_t outbox_events = 10'000;  ///< unsent and unanswered posts kept; past it post() says no
  std::size_t inbox_events = 50'000;  ///< events not yet taken; past it reading pauses until take()
  std::chrono::milliseconds first_pause{250};  ///< after a lost link; doubles up to longest_pause
  std::chrono::milliseconds longest_pause{10'000};
  /// Called on the client's thread when take() has something new; must not block, may be empty.
  std::function<void()> wake;
};

/// The link as a desk shows it. Times are this machine's clock.
struct LinkState {
  enum class Phase {
    connecting,   ///< trying
    catching_up,  ///< connected; stored events are coming
    live,         ///< connected and up to date
    waiting,      ///< not connected; tries again at next_try
    refused,      ///< the server answers, but does not let us follow; tries again at next_try
    closed,       ///< the client was closed
  };
  Phase phase = Phase::connecting;
  std::string why;                         ///< of waiting and refused: what went wrong
  std::optional<Instant> since;            ///< when this phase began
  std::optional<Instant> connected_since;  ///< empty while not connected
  std::optional<Instant> last_word;        ///< last message of any sort; survives a lost link
  std::optional<Instant> next_try;
  std::uint64_t last_seq = 0;    ///< last event received
  std::uint64_t newest_seq = 0;  ///< newest at the server, as its last heartbeat said
  std::optional<std::chrono::milliseconds> round_trip;  ///< of the last ping
  std::size_t waiting = 0;                              ///< posts not yet acknowledged
  std::string posts_wait;  ///< why the server takes no posts now (its disk is full); else empty

  /// Server clock minus ours at the last heartbeat, half a round trip at its pace allowed for.
  std::optional<std::chrono::milliseconds> clock_offset;
  /// Pace of the server's clock: 1, or that of a played log.
  double clock_speed = 1;
  /// When clock_offset was taken, by our clock.
  std::optional<Instant> clock_taken;

  bool connected() const { return phase == Phase::catching_up || phase == Phase::live; }
  /// The server said its time and pace, and ours shows `here` as it is heard.
  void server_said(Instant time, double speed, Instant here);
  /// The server's clock when ours shows `here`; ours, if it never spoke.
  Instant server_time(Instant here) const;
};

/// What became of one post.
struct PostResult {
  Uuid id{};
  std::uint64_t seq = 0;  ///< where it stands; 0 if refused
  std::string refused;    ///< why not; it is not sent again
};

/// What came since the last take().
struct Incoming {
  std::vector<EventPtr> events;  ///< in order of seq, without gap or repeat
  std::vector<PostResult> results;
  std::vector<Fault> faults;  ///< events of the server that we could not read
  bool empty() const { return events.empty() && results.empty() && faults.empty(); }
};

/// Follows a server and posts to it over one WebSocket, on a thread of its own. A lost link is
/// tried again with growing pauses, from the last event received. What is posted is kept in memory
/// until the server has acknowledged it: sent again after a lost link, and stored once because of
/// its id. All members may be called from any thread.
class Client {
 public:
  explicit Client(ClientOptions options);
  ~Client();
  Client(const Client&) = delete;
  Client& operator=(const Client&) = delete;

  /// Puts an event in the outbox. False: the outbox is full, or the client closed; nothing was
  /// kept.
  bool post(EventPtr event);

  /// What is not yet acknowledged, oldest first: to be kept on disk before closing, if it matters.
  std::vector<EventPtr> unsent() const;

  Incoming take();         ///< never blocks; what it returns is the caller's
  LinkState link() const;  ///< never blocks

  /// Ends the link. Waits up to `patience` for what is in the outbox to be acknowledged.
  void close(std::chrono::milliseconds patience = std::chrono::milliseconds(0));

 private:
  class Link;
  std::unique_ptr<Link> link_;
};

std::string_view to_string(LinkState::Phase phase);

}  // namespace stonecall::protocol
