#include "protocol/log.hpp"

#include <cerrno>
#include <cstring>
#include <fstream>

namespace stonecall::protocol {

void LogReader::feed(std::string_view bytes) {
  while (!bytes.empty()) {
    const auto end = bytes.find('\n');
    if (end == std::string_view::npos) {
      // A line without end must not fill the memory; its start is enough to say that it is too
      // long.
      if (rest_.size() + bytes.size() > Limits::event_bytes + 2) {
        too_long_ = true;
        rest_.clear();
      } else if (!too_long_) {
        rest_ += bytes;
      }
      return;
    }
    if (rest_.empty() && !too_long_) {
      line(bytes.substr(0, end), false);
    } else {
      if (!too_long_) rest_ += bytes.substr(0, end);
      line(rest_, false);
      rest_.clear();
    }
    bytes.remove_prefix(end + 1);
  }
}

void LogReader::finish() {
  if (!rest_.empty() || too_long_) line(rest_, true);
  rest_.clear();
}

void LogReader::line(std::string_view text, bool last) {
  ++line_;
  if (std::exchange(too_long_, false)) {
    take_(
        Fault{"", "is over the limit of " + std::to_string(Limits::event_bytes) + " bytes", line_});
    return;
  }
  constexpr std::string_view kByteOrderMark = "\xEF\xBB\xBF";
  if (line_ == 1 && text.starts_with(kByteOrderMark)) text.remove_prefix(kByteOrderMark.size());
  if (text.ends_with('\r')) text.remove_suffix(1);
  if (text.find_first_not_of(" \t") == std::string_view::npos) return;

  auto event = parse_event(text);
  if (!event) {
    Fault fault = std::move(event.error());
    fault.line = line_;
    if (last)
      fault.what =
          "the last line is torn (no line feed, and " + fault.what + "); the lines before it stand";
    take_(std::move(fault));
    return;
  }
  check(*event);
  if (ids_.insert(event->id).second) {
    ++events_;
    take_(std::move(*event));
  }
}

void LogReader::check(const Event& event) {
  if (ids_.contains(event.id)) {
    take_(Fault{"id", "stands on an earlier line already; the first one is used", line_});
    return;
  }
  if (!event.seq) return;
  if (*event.seq != last_seq_ + 1 && last_seq_ != 0) {
    take_(Fault{"seq",
                "is " + std::to_string(*event.seq) + " after " + std::to_string(last_seq_) +
                    (*event.seq > last_seq_ ? ": events are missing between" : ": out of order"),
                line_});
  }
  last_seq_ = *event.seq;
}

Log read_log(std::istream& in, const std::function<void(std::size_t)>& progress) {
  Log log;
  LogReader reader([&](LogReader::Item item) {
    if (auto* event = std::get_if<Event>(&item)) {
      log.events.push_back(std::make_shared<const Event>(std::move(*event)));
    } else {
      log.faults.push_back(std::get<Fault>(std::move(item)));
    }
  });
  std::string buffer(256 * 1024, '\0');
  std::size_t bytes = 0;
  while (in) {
    in.read(buffer.data(), static_cast<std::streamsize>(buffer.size()));
    const auto got = static_cast<std::size_t>(in.gcount());
    reader.feed({buffer.data(), got});
    bytes += got;
    if (progress) progress(bytes);
  }
  reader.finish();
  return log;
}

Result<Log> read_log_file(const std::string& path,
                          const std::function<void(std::size_t)>& progress) {
  std::ifstream in(path, std::ios::binary);
  if (!in) {
    return tl::make_unexpected(
        Fault{"", "cannot open " + path + ": " + std::strerror(errno), std::nullopt});
  }
  Log log = read_log(in, progress);
  if (in.bad()) {
    return tl::make_unexpected(
        Fault{"", "cannot read " + path + ": " + std::strerror(errno), std::nullopt});
  }
  return log;
}

}  // namespace stonecall::protocol
