#pragma once

#include <cstdint>
#include <functional>
#include <istream>
#include <string>
#include <string_view>
#include <unordered_set>
#include <variant>
#include <vector>

#include <boost/container_hash/hash.hpp>
#include <boost/uuid/uuid_hash.hpp>

#include "protocol/event.hpp"

namespace stonecall::protocol {

/// Reads a recorded log (JSON Lines) as its bytes come: feed() any pieces, get each event or fault
/// in order. A fault costs its own line and no other. Blank lines and a byte-order mark are passed
/// over, CRLF is accepted. What was left without a line feed at the end is an event if it reads as
/// one, else it is reported as torn: the ordinary death of a writer, not damage.
class LogReader {
 public:
  using Item = std::variant<Event, Fault>;
  using Take = std::function<void(Item)>;

  explicit LogReader(Take take) : take_(std::move(take)) {}

  void feed(std::string_view bytes);
  /// Call once after the last bytes.
  void finish();

  std::size_t lines() const { return line_; }
  std::size_t events() const { return events_; }

 private:
  void line(std::string_view text, bool last);
  void check(const Event& event);

  Take take_;
  std::string rest_;
  bool too_long_ = false;
  std::size_t line_ = 0;
  std::size_t events_ = 0;
  std::uint64_t last_seq_ = 0;
  std::unordered_set<Uuid, boost::hash<Uuid>> ids_;
};

/// A whole log in memory. Faults do not hide the events around them.
struct Log {
  std::vector<EventPtr> events;
  std::vector<Fault> faults;
};

/// Progress is called with the bytes read so far, about every 256 KiB.
Log read_log(std::istream& in, const std::function<void(std::size_t bytes)>& progress = {});

/// The fault is that the file cannot be opened or read.
Result<Log> read_log_file(const std::string& path,
                          const std::function<void(std::size_t bytes)>& progress = {});

}  // namespace stonecall::protocol
