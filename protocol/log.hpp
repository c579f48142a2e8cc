#pragma once

#include <cstdint>
#include <functional>
#include <istream>
#include <optional>
#include <string>
#include <string_view>
#include <unordered_set>
#include <variant>
#include <vector>

#include <boost/container_hash/hash.hpp>
#include <boost/uuid/uuid_hash.hpp>

#include "protocol/event.hpp"

namespace stonecall::protocol {

struct Log;

/// Cuts bytes into lines as they come. A line without end must not fill the memory: of one over the
/// limit of an event only that is kept.
class LineCutter {
 public:
  /// Calls take(text, too_long) for each whole line, without its line feed.
  template <class Take>
  void feed(std::string_view bytes, Take&& take);
  /// Calls it once more where something was left without a line feed.
  template <class Take>
  void finish(Take&& take);

 private:
  static constexpr std::size_t longest = Limits::event_bytes + 2;  // with a carriage return
  void keep(std::string_view bytes);

  std::string rest_;
  bool too_long_ = false;
};

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
  friend Log read_log(std::istream& in, const std::function<void(std::size_t bytes)>& progress);
  /// What a line holds, whatever stood before it; nothing: it is blank.
  using Read = std::optional<Result<Event>>;
  static Read read(std::string_view text, bool too_long, bool first);
  void enter(Read read, bool last);

  Take take_;
  LineCutter cutter_;
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

/// Progress is called with the bytes read so far, about every 256 KiB. Lines are read side by side
/// on as many threads as there are processors; what comes out is what LogReader says.
Log read_log(std::istream& in, const std::function<void(std::size_t bytes)>& progress = {});

/// The fault is that the file cannot be opened or read.
Result<Log> read_log_file(const std::string& path,
                          const std::function<void(std::size_t bytes)>& progress = {});

template <class Take>
void LineCutter::feed(std::string_view bytes, Take&& take) {
  for (auto end = bytes.find('\n'); end != std::string_view::npos; end = bytes.find('\n')) {
    const std::string_view text = bytes.substr(0, end);
    if (rest_.empty() && !too_long_) {
      take(text, text.size() > longest);
    } else {
      keep(text);
      take(std::string_view(rest_), too_long_);
      rest_.clear();
      too_long_ = false;
    }
    bytes.remove_prefix(end + 1);
  }
  keep(bytes);
}

template <class Take>
void LineCutter::finish(Take&& take) {
  if (!rest_.empty() || too_long_) take(std::string_view(rest_), too_long_);
  rest_.clear();
  too_long_ = false;
}

}  // namespace stonecall::protocol
