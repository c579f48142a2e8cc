#pragma once

#include <functional>
#include <memory>

#include "console/desk/view.hpp"
#include "protocol/event.hpp"

namespace stonecall::desk {

/// Where pictures come from: a recorded log, or a server. A source works on its own threads and
/// hands over finished, immutable views; nothing here waits.
class Source {
 public:
  /// Called from any thread when there is a new view.
  using Wake = std::function<void()>;

  virtual ~Source() = default;

  /// The newest view; never null.
  virtual std::shared_ptr<const View> view() const = 0;
  /// Takes an event of ours: live it is sent (and kept until it went out), of a replay it is laid
  /// beside the log.
  virtual void post(protocol::EventPtr event) = 0;

  /// Posts that were kept without it being known for which exercise are for this one.
  virtual void send_unclaimed() {}

  /// The player; a live source has none and does nothing.
  virtual void seek(protocol::Instant) {}
  virtual void step(int /*events*/) {}
  virtual void play(bool) {}
  virtual void speed(double /*times*/) {}
  /// Lays what is known at the end beside; only a replay has an end to show.
  virtual void lay_end_beside(bool) {}
};

/// What a source asks of the parts that work out numbers and read notes; each may be empty.
struct Workers {
  /// The memory is that of the source's earlier assessments.
  std::function<std::shared_ptr<const advise::Assessment>(const picture::Picture&,
                                                          protocol::Instant, advise::Memory&)>
      assess;
  /// Many notes are read against one picture: what is prepared for it is kept while it is the same.
  std::function<std::vector<Proposal>(const protocol::Event& note, const picture::PicturePtr&)>
      read_note;
};

}  // namespace stonecall::desk
