#pragma once

#include <condition_variable>
#include <limits>
#include <memory>
#include <mutex>
#include <optional>
#include <thread>

#include "console/desk/note_reader.hpp"
#include "console/desk/source.hpp"

namespace stonecall::desk {

/// Holds the newest view, works out its assessment and has its notes read beside, each on a thread
/// of its own: while one is being worked out newer pictures replace each other in a waiting place
/// of one, so it never falls behind.
class Publisher {
 public:
  Publisher(Workers workers, Source::Wake wake);
  ~Publisher();

  std::shared_ptr<const View> view() const;
  /// Shows this view from now on (with the newest assessment and proposals there are). `end`: the
  /// picture of all there is, where that is to be laid beside.
  void publish(View view, picture::PicturePtr end = {});
  /// Waits until nothing is being worked out, and the newest so many notes are read.
  void settle(std::size_t newest_notes = std::numeric_limits<std::size_t>::max()) const;

 private:
  struct Task {
    picture::PicturePtr picture;
    protocol::Instant now{};
    picture::PicturePtr end;
  };
  void assess(std::stop_token stop);
  void more_is_read();

  const Workers workers_;
  const Source::Wake wake_;
  mutable std::mutex mutex_;
  mutable std::condition_variable_any work_;
  std::shared_ptr<const View> view_ = std::make_shared<View>();
  std::shared_ptr<const advise::Assessment> assessment_;
  picture::PicturePtr assessed_;                ///< what `assessment_` was worked out from
  std::shared_ptr<const AtTheEnd> at_the_end_;  ///< of the moment of `assessment_`
  std::optional<Task> waiting_;
  bool busy_ = false;
  picture::PicturePtr asked_;  ///< what was put into the waiting place last
  protocol::Instant asked_at_{};
  picture::PicturePtr asked_end_;
  std::jthread thread_;
  NoteReader reader_;
};

}  // namespace stonecall::desk
