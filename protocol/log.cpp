#include "protocol/log.hpp"

#include <algorithm>
#include <cerrno>
#include <cstring>
#include <deque>
#include <fstream>
#include <future>
#include <thread>

namespace stonecall::protocol {

void LineCutter::keep(std::string_view bytes) {
  if (too_long_) return;
  if (rest_.size() + bytes.size() > longest) {
    too_long_ = true;
    rest_.clear();
  } else {
    rest_ += bytes;
  }
}

void LogReader::feed(std::string_view bytes) {
  cutter_.feed(bytes, [&](std::string_view text, bool too_long) {
    enter(read(text, too_long, line_ == 0), false);
  });
}

void LogReader::finish() {
  cutter_.finish(
      [&](std::string_view text, bool too_long) { enter(read(text, too_long, line_ == 0), true); });
}

LogReader::Read LogReader::read(std::string_view text, bool too_long, bool first) {
  if (too_long) {
    return tl::make_unexpected(
        Fault{"", "is over the limit of " + std::to_string(Limits::event_bytes) + " bytes", {}});
  }
  constexpr std::string_view kByteOrderMark = "\xEF\xBB\xBF";
  if (first && text.starts_with(kByteOrderMark)) text.remove_prefix(kByteOrderMark.size());
  if (text.ends_with('\r')) text.remove_suffix(1);
  if (text.find_first_not_of(" \t") == std::string_view::npos) return std::nullopt;
  return parse_event(text);
}

void LogReader::enter(Read read, bool last) {
  ++line_;
  if (!read) return;
  if (!*read) {
    Fault fault = std::move(read->error());
    fault.line = line_;
    if (last)
      fault.what =
          "the last line is torn (no line feed, and " + fault.what + "); the lines before it stand";
    take_(std::move(fault));
    return;
  }
  Event& event = **read;
  if (!ids_.insert(event.id).second) {
    take_(Fault{"id", "stands on an earlier line already; the first one is used", line_});
    return;
  }
  if (event.seq) {
    if (*event.seq != last_seq_ + 1 && last_seq_ != 0) {
      take_(Fault{"seq",
                  "is " + std::to_string(*event.seq) + " after " + std::to_string(last_seq_) +
                      (*event.seq > last_seq_ ? ": events are missing between" : ": out of order"),
                  line_});
    }
    last_seq_ = *event.seq;
  }
  ++events_;
  take_(std::move(event));
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

  // Batches of whole lines, read by others while the next one is cut, and entered in their order.
  struct Batch {
    std::string text;
    struct Line {
      std::size_t begin, end;
      bool too_long;
    };
    std::vector<Line> lines;
  };
  constexpr std::size_t batch_bytes = 512 * 1024;
  const std::size_t at_once = std::max(1U, std::thread::hardware_concurrency());
  std::deque<std::future<std::vector<LogReader::Read>>> reading;
  Batch batch;
  bool first = true;
  const auto add = [&](std::string_view text, bool too_long) {
    const std::size_t begin = batch.text.size();
    batch.text += text;
    batch.lines.push_back({begin, batch.text.size(), too_long});
  };
  const auto enter_one = [&](bool last) {
    std::vector<LogReader::Read> lines = reading.front().get();
    reading.pop_front();
    for (std::size_t i = 0; i < lines.size(); ++i)
      reader.enter(std::move(lines[i]), last && i + 1 == lines.size());
  };
  const auto hand_over = [&] {
    if (batch.lines.empty()) return;
    while (reading.size() > at_once) enter_one(false);
    reading.push_back(std::async(std::launch::async, [batch = std::exchange(batch, {}),
                                                      first = std::exchange(first, false)] {
      std::vector<LogReader::Read> lines;
      lines.reserve(batch.lines.size());
      for (const Batch::Line& line : batch.lines)
        lines.push_back(
            LogReader::read(std::string_view(batch.text).substr(line.begin, line.end - line.begin),
                            line.too_long, first && lines.empty()));
      return lines;
    }));
  };

  LineCutter cutter;
  std::string buffer(256 * 1024, '\0');
  std::size_t bytes = 0;
  while (in) {
    in.read(buffer.data(), static_cast<std::streamsize>(buffer.size()));
    const auto got = static_cast<std::size_t>(in.gcount());
    cutter.feed({buffer.data(), got}, add);
    if (batch.text.size() >= batch_bytes) hand_over();
    bytes += got;
    if (progress) progress(bytes);
  }
  hand_over();
  while (!reading.empty()) enter_one(false);
  // What was left without a line feed may be the death of a writer, which only its own batch tells.
  cutter.finish(add);
  const bool torn = !batch.lines.empty();
  hand_over();
  while (!reading.empty()) enter_one(torn);
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
