#include "console/commands/feed.hpp"

#include <array>
#include <cerrno>
#include <chrono>
#include <cmath>
#include <condition_variable>
#include <cstring>
#include <filesystem>
#include <fstream>
#include <map>
#include <memory>
#include <mutex>
#include <optional>
#include <ostream>
#include <set>
#include <utility>

#include <boost/algorithm/string/predicate.hpp>
#include <sys/stat.h>

#include "protocol/captions.hpp"
#include "protocol/client.hpp"

namespace stonecall::commands {
namespace {

using namespace protocol;
using Steady = std::chrono::steady_clock;

constexpr auto look_each = std::chrono::milliseconds(250);  // at a file that may have grown
constexpr auto tell_each = std::chrono::seconds(1);
constexpr double longest_offset_seconds = 366 * 86'400.0;

/// A file that may grow while it is read. A look at it costs one read.
class GrowingFile {
 public:
  explicit GrowingFile(const std::string& path) : path_(path) { open(); }

  bool readable() {
    // A folder opens, and cannot be read.
    return in_ && (in_.peek(), !in_.bad());
  }
  bool missing() const {
    std::error_code unknown;
    return !std::filesystem::exists(path_, unknown) && !unknown;
  }
  void open() {
    in_ = std::ifstream(path_, std::ios::binary);
    identity_ = identity();
    read_ = 0;
  }
  /// What came since the last asking, at most a buffer full; empty: nothing.
  std::string_view read() {
    in_.clear();
    in_.read(buffer_.data(), buffer_.size());
    const auto count = static_cast<std::size_t>(in_.gcount());
    read_ += count;
    return {buffer_.data(), count};
  }
  enum class Same { yes, shorter, other };
  /// Whether the name stands for the file that was read, for one that lost bytes, or for another
  /// that took its place.
  Same same() const {
    std::error_code gone;
    const auto size = std::filesystem::file_size(path_, gone);
    if (gone) return Same::yes;  // taken away; what takes its place is seen then
    if (const auto now = identity(); now && identity_ && *now != *identity_) return Same::other;
    return size < read_ ? Same::shorter : Same::yes;
  }

 private:
  using Identity = std::pair<dev_t, ino_t>;
  std::optional<Identity> identity() const {
    struct stat status {};
    if (::stat(path_.c_str(), &status) != 0) return std::nullopt;
    return Identity{status.st_dev, status.st_ino};
  }

  std::string path_;
  std::optional<Identity> identity_;
  std::ifstream in_;
  std::uintmax_t read_ = 0;
  std::array<char, 64 * 1024> buffer_;
};

class Feed {
 public:
  Feed(const FeedOptions& options, CaptionFormat format, CaptionClock clock, ServerAddress server,
       std::stop_token stop, std::ostream& out, std::ostream& err)
      : options_(options),
        format_(format),
        clock_(clock),
        source_(options.source.empty() ? std::filesystem::path(options.captions).filename().string()
                                       : options.source),
        stop_(std::move(stop)),
        out_(out),
        err_(err),
        file_(options.captions),
        reader_(format) {
    client_options_.server = std::move(server);
    client_options_.token = options.token;
    client_options_.posts_only = true;
    client_options_.wake = [this] { tell(); };
  }

  int run() {
    if (options_.follow && file_.missing()) {
      err_ << options_.captions << ": is not there yet, waited for\n";
      while (file_.missing() && !stop_.stop_requested()) wait_for_stop(look_each);
      if (stop_.stop_requested()) {
        out_ << options_.captions << ": never appeared, nothing posted\n";
        return 0;
      }
    }
    // It may have come since it was first tried.
    if (options_.follow && !file_.readable()) file_.open();
    if (!file_.readable()) {
      err_ << "stonecall: cannot read " << options_.captions << ": " << std::strerror(errno)
           << '\n';
      return 2;
    }
    Client client(client_options_);
    client_ = &client;
    const std::stop_callback at_stop(stop_, [this] { tell(); });
    while (!given_up_) {
      const std::string_view bytes = file_.read();
      if (!bytes.empty()) {
        reader_.feed(bytes);
        post_cues();
      } else if (!options_.follow || stop_.stop_requested()) {
        break;
      } else if (const auto same = file_.same(); same != GrowingFile::Same::yes) {
        if (same == GrowingFile::Same::other) {
          // What came to the old one since it was last read; then nothing more, so that its last
          // cue is whole.
          for (std::string_view rest = file_.read(); !rest.empty(); rest = file_.read())
            reader_.feed(rest);
          reader_.finish();
          post_cues();
        }
        err_ << options_.captions
             << (same == GrowingFile::Same::other ? ": is another file now"
                                                  : ": is shorter than before")
             << ", read from its beginning\n";
        file_.open();
        reader_ = CaptionReader(format_);
      } else {
        wait(look_each);
        news();
      }
    }
    reader_.finish();
    post_cues();
    while (!given_up_ && client.link().waiting > 0) {
      wait(tell_each);
      news();
    }
    client.close();
    take_results();
    return summary();
  }

 private:
  void post_cues() {
    for (const Fault& fault : reader_.take_faults()) {
      err_ << options_.captions << ": " << to_string(fault) << '\n';
      if (!is_remark(fault)) ++skipped_;
    }
    for (const Cue& cue : reader_.take_cues()) {
      Event event = voice_note(cue, clock_, source_, options_.from);
      if (const auto named = options_.voices.find(cue.speaker); named != options_.voices.end())
        event.from = named->second;
      if (!lines_.emplace(event.id, cue.line).second) continue;  // read before in this run
      const auto note = std::make_shared<const Event>(std::move(event));
      while (!client_->post(note)) {
        if (given_up_) return;
        wait(tell_each);
        news();
      }
    }
    news();
  }

  void take_results() {
    for (const PostResult& result : client_->take().results) {
      if (result.refused.empty()) {
        ++stored_;
        continue;
      }
      ++refused_;
      err_ << options_.captions << ": line " << lines_[result.id]
           << ": refused by the server: " << result.refused << '\n';
    }
  }

  /// What the server said, how far we are, and whether to go on.
  void news() {
    take_results();
    const LinkState link = client_->link();
    const auto now = Steady::now();
    if (link.connected()) last_link_ = now;
    const std::string trouble = !link.posts_wait.empty() ? link.posts_wait : link.why;
    if (!trouble.empty() && trouble != trouble_) {
      trouble_ = trouble;  // each new attempt fails alike: said once
      err_ << "stonecall: " << options_.server << ": " << trouble << '\n';
    } else if (trouble.empty() && link.connected() && !trouble_.empty()) {
      trouble_.clear();
      err_ << "stonecall: " << options_.server << ": the server answers again\n";
    }
    if (now >= next_word_ && told_ != stored_) {
      err_ << options_.captions << ": " << stored_ << " of " << lines_.size() << " notes stored\n";
      told_ = stored_;
      next_word_ = now + tell_each;
    }
    // A refusal of a token does not mend itself.
    const bool patient = options_.follow && !stop_.stop_requested();
    const auto patience = std::chrono::seconds(options_.patience_seconds);
    given_up_ = !patient && (link.phase == LinkState::Phase::refused ||
                             now - std::max(last_link_, asked_to_stop(now)) > patience);
  }

  /// When it was first seen that we are to stop; patience counts from there.
  Steady::time_point asked_to_stop(Steady::time_point now) {
    if (stop_.stop_requested() && !stopping_since_) stopping_since_ = now;
    return stopping_since_.value_or(Steady::time_point::min());
  }

  int summary() {
    const std::size_t lost = lines_.size() - stored_ - refused_;
    out_ << options_.captions << ": " << lines_.size() << " notes, " << stored_ << " stored";
    if (refused_ > 0) out_ << ", " << refused_ << " refused";
    if (lost > 0) out_ << ", " << lost << " not taken by the server";
    if (skipped_ > 0) out_ << "; " << skipped_ << " broken cues skipped";
    out_ << '\n';
    if (lost > 0) return 3;
    return refused_ + skipped_ > 0 ? 1 : 0;
  }

  void wait_for_stop(std::chrono::milliseconds longest) {
    const std::stop_callback at_stop(stop_, [this] { tell(); });
    wait(longest);
  }
  void tell() {
    {
      const std::scoped_lock lock(mutex_);
      told_something_ = true;
    }
    changed_.notify_one();
  }
  /// Returns after news of the client or a wish to stop, or after `longest` without.
  void wait(std::chrono::milliseconds longest) {
    std::unique_lock lock(mutex_);
    changed_.wait_for(lock, longest, [&] { return told_something_; });
    told_something_ = false;
  }

  const FeedOptions& options_;
  CaptionFormat format_;
  CaptionClock clock_;
  std::string source_;
  std::stop_token stop_;
  std::ostream& out_;
  std::ostream& err_;
  GrowingFile file_;
  CaptionReader reader_;
  ClientOptions client_options_;
  Client* client_ = nullptr;

  std::map<Uuid, std::size_t> lines_;  ///< of each cue posted
  std::size_t stored_ = 0, refused_ = 0, skipped_ = 0;
  std::size_t told_ = 0;
  std::string trouble_;
  Steady::time_point last_link_ = Steady::now();
  Steady::time_point next_word_ = Steady::now() + tell_each;
  std::optional<Steady::time_point> stopping_since_;
  bool given_up_ = false;

  std::mutex mutex_;
  std::condition_variable changed_;
  bool told_something_ = false;
};

}  // namespace

int feed(const FeedOptions& options, std::stop_token stop, std::ostream& out, std::ostream& err) {
  const auto wrong = [&](const std::string& what) {
    err << "stonecall: " << what << '\n';
    return 2;
  };
  const bool vtt = boost::algorithm::iends_with(options.captions, ".vtt");
  if (!vtt && !boost::algorithm::iends_with(options.captions, ".srt"))
    return wrong(options.captions + ": expected WebVTT (.vtt) or SubRip (.srt)");
  auto address = parse_server_address(options.server);
  if (!address) return wrong("--server: " + address.error().what);
  const auto start = parse_timestamp(options.start);
  if (!start) return wrong("--start: " + start.error().what);
  if (!(std::abs(options.offset_seconds) <= longest_offset_seconds))
    return wrong("--offset: expected seconds, at most a year");
  const Milliseconds offset{std::llround(options.offset_seconds * 1000)};
  return Feed(options, vtt ? CaptionFormat::web_vtt : CaptionFormat::sub_rip, {*start, offset},
              std::move(*address), std::move(stop), out, err)
      .run();
}

}  // namespace stonecall::commands
