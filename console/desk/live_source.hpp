#pragma once

#include <chrono>
#include <condition_variable>
#include <filesystem>
#include <functional>
#include <mutex>
#include <optional>
#include <string>
#include <thread>

#include "console/desk/kept_posts.hpp"
#include "console/desk/publisher.hpp"
#include "console/desk/source.hpp"
#include "protocol/client.hpp"

namespace stonecall::desk {

struct LiveSetup {
  protocol::ServerAddress server;
  std::string token;
  std::string words;             ///< the server as it was named, for the title line
  std::filesystem::path unsent;  ///< where posts are kept until the server has them, also for the
                                 ///< next start; empty: nowhere
  Mode mode = Mode::live;        ///< practice: a server plays what is practised on
  /// Of practice: asks the server to hold its log, or to go on. The error is why it did not.
  std::function<std::optional<std::string>(bool hold)> hold{};
  /// Told of each pause that is over: when it was in the exercise, and how long by this clock.
  std::function<void(protocol::Instant at, protocol::Milliseconds span)> paused{};
  /// Posted in this name once all that the server has was heard and no plan was among it.
  std::optional<protocol::Plan> plan{};
  std::string name{};
  bool recorded_party = false;  ///< see View
  /// Where unsent posts were kept before each server had a file; taken up with the others.
  std::filesystem::path unsent_before{};
};

/// An exercise as it happens. Posts are shown at once; until the server has them they count as
/// waiting, and one that it refuses is taken out again and said so.
class LiveSource : public Source {
 public:
  LiveSource(LiveSetup setup, Workers workers, Wake wake);
  ~LiveSource() override;

  std::shared_ptr<const View> view() const override { return publisher_.view(); }
  void post(protocol::EventPtr event) override;
  void play(bool playing) override;  ///< of practice, if it can be held
  void send_unclaimed() override;

 private:
  /// A pause, while it lasts.
  struct Pause {
    std::chrono::steady_clock::time_point since;
    protocol::Instant at{};
  };

  void work(std::stop_token stop);
  void rouse();
  void let_go_of_sent();
  void settle_held(const std::vector<protocol::EventPtr>& heard,
                   std::vector<protocol::EventPtr>& not_ours);
  void give(const protocol::Plan& plan, protocol::Instant now);
  void hold_or_go_on(protocol::Instant now);
  void end_pause();
  /// Between two tries of a lost link the client connects anew; to a person it is lost all the
  /// while, and since the first time.
  void keep_down(LinkState& link);

  const LiveSetup setup_;
  Publisher publisher_;

  std::mutex mutex_;
  std::condition_variable_any changed_;
  bool roused_ = false;
  std::vector<protocol::EventPtr> ours_;  ///< posted since the worker last looked
  bool to_hold_ = false;                  ///< what was asked for last

  // The worker's.
  std::optional<Pause> pause_;
  std::string not_held_;
  /// Since when there is no link, and why not now; none while there is one.
  struct Down {
    std::optional<protocol::Instant> since;
    std::string why;
  };
  std::optional<Down> down_;

  protocol::Client client_;
  std::mutex kept_mutex_;  ///< what the client holds and what is kept are changed together
  KeptPosts kept_;
  /// Left by earlier desks, and posted before the server has said which exercise it has.
  std::vector<KeptPosts::Left> held_;
  bool settled_ = false;  ///< it has said so: what is posted goes out at once
  /// Posted before anybody knew for which exercise, and not in the hours of this one.
  std::vector<KeptPosts::Left> unclaimed_;
  bool keep_all_ = false;  ///< what belongs to another exercise could not be set aside
  std::vector<KeptElsewhere> elsewhere_;
  std::jthread thread_;
};

}  // namespace stonecall::desk
