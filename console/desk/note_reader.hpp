#pragma once

#include <condition_variable>
#include <functional>
#include <memory>
#include <mutex>
#include <thread>
#include <unordered_map>

#include "console/desk/view.hpp"

namespace stonecall::desk {

/// Reads the notes of pictures into proposals beside, on a thread of its own: each note once, the
/// newest first, so that a long log is shown at once. A note is read again where its text was
/// amended, and while it is among the newest and nothing of it was decided: what is accepted of the
/// notes before it may change what it states.
class NoteReader {
 public:
  using Read =
      std::function<std::vector<Proposal>(const protocol::Event& note, const picture::PicturePtr&)>;
  /// `more` is called from the reader's thread when there are more proposals. Without `read`
  /// nothing is ever proposed.
  NoteReader(Read read, std::function<void()> more);
  ~NoteReader();

  /// The notes of this picture are wanted; those of one before that were not read yet are not.
  void want(picture::PicturePtr picture);
  std::shared_ptr<const Proposals> proposals() const;  ///< never null
  /// Waits until of what was wanted the newest so many notes are read.
  void settle(std::size_t newest) const;

 private:
  void work(std::stop_token stop);

  const Read read_;
  const std::function<void()> more_;
  mutable std::mutex mutex_;
  mutable std::condition_variable_any changed_;
  picture::PicturePtr waiting_;
  bool busy_ = false;
  std::size_t gone_through_ = 0;  ///< notes of the picture that is being read, or was last
  std::shared_ptr<const Proposals> proposals_ = std::make_shared<Proposals>();
  std::jthread thread_;
};

}  // namespace stonecall::desk
