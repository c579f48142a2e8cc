#pragma once

#include <filesystem>
#include <limits>
#include <string>

#include "console/desk/publisher.hpp"
#include "console/desk/source.hpp"

namespace stonecall::desk {

struct ReplaySetup {
  std::vector<protocol::EventPtr> events;  ///< of the recorded log
  std::string name;                        ///< shown in the title line
  Mode mode = Mode::replay;                ///< replay or practice
  /// Where what is posted during the replay is kept, beside the log and never in it; empty: only in
  /// memory.
  std::filesystem::path beside;
};

/// A recorded log as it was known at each moment: an event is heard when the server received it. A
/// worker folds; scrubbing drops positions that were passed over before they were shown.
class ReplaySource : public Source {
 public:
  ReplaySource(ReplaySetup setup, Workers workers, Wake wake);
  ~ReplaySource() override;

  std::shared_ptr<const View> view() const override { return publisher_.view(); }
  void post(protocol::EventPtr event) override;
  void seek(protocol::Instant to) override;
  void step(int events) override;
  void play(bool playing) override;
  void speed(double times) override;
  void lay_end_beside(bool beside) override;

  protocol::Instant begin() const { return begin_; }
  protocol::Instant end() const { return end_; }

  /// Waits until the view shows the position last asked for, with its assessment and the proposals
  /// of the newest so many notes. For screenshots and tests.
  void settle(std::size_t newest_notes = std::numeric_limits<std::size_t>::max()) const;

 private:
  using Clock = std::chrono::steady_clock;
  void work(std::stop_token stop);
  std::size_t count_known(protocol::Instant now) const;
  protocol::Instant position_at(Clock::time_point when) const;
  void move(protocol::Instant to);

  Publisher publisher_;
  const std::string name_;
  const Mode mode_;
  const std::filesystem::path beside_;
  protocol::Instant begin_{}, end_{};

  mutable std::mutex mutex_;
  mutable std::condition_variable_any changed_;
  std::vector<protocol::EventPtr> events_;  ///< in the order in which they were known
  struct Posted {
    std::size_t place;
    protocol::EventPtr event;
  };
  std::vector<Posted> posted_;  ///< put into `events_`, unknown to the worker
  std::shared_ptr<const std::vector<Landmark>> landmarks_;
  std::string not_kept_;      ///< why the last of them could not be written down
  protocol::Instant from_{};  ///< position when the player was last touched
  Clock::time_point touched_{};
  bool playing_ = false;
  double speed_ = 1;
  bool end_beside_ = false;
  protocol::Instant furthest_{};  ///< practice: nothing beyond may be asked for
  bool moved_ = true;
  bool shown_ = false;  ///< the view shows what was asked for

  std::jthread thread_;
};

}  // namespace stonecall::desk
